/* SPDX-License-Identifier: MIT
 *
 * Which runs: the options that choose among the stored runs (an argp child, the input is a struct
 * run_list *), and the runs that they choose, oldest first. With --limit the newest ones.
 */
#ifndef TOOLS_RUN_LIST_H
#define TOOLS_RUN_LIST_H

#include "store/store.h"

#include <argp.h>

struct run_list {
	struct run_filter filter;
	struct run_row *rows; /* owned; newest first */
	int64_t *numbers;     /* owned; oldest first */
	size_t count, capacity;
	bool no_memory;
};

extern const struct argp run_list_argp;

/* Exit code; what stood in the way has been said. */
int run_list_find(struct run_list *list, const char *command, struct store *store);
/* Their numbers alone, 8 bytes a run: for what looks at one run after the other. */
int run_list_find_numbers(struct run_list *list, const char *command, struct store *store);
const struct run_row *run_list_at(const struct run_list *list, size_t index);
void run_list_finish(struct run_list *list);

#endif
