/* SPDX-License-Identifier: MIT
 *
 * What the commands that read the database share: opening it, finding one run, and saying on stderr
 * what stood in the way. Functions that fail have said so already and give the exit code.
 */
#ifndef TOOLS_STORED_H
#define TOOLS_STORED_H

#include "store/store.h"

#include <jansson.h>

/* EXIT_DONE and an open store, or the exit code. command: "ramplog show". */
int stored_open(const char *command, const char *path, struct store **store);

/* Says what the store's last call met. Always EXIT_CANNOT. */
int stored_failed(const char *command, const struct store *store, enum store_status status);

/* Loads one run. EXIT_NO where there is none of that number. */
int stored_run(const char *command, struct store *store, int64_t run, struct run_record *record);

/* The run as `runs --json`, `show --json` and the results of `export` write it: the outcome's names
 * (null values while it is open), its head, every fracture entry and every correction. */
enum store_status stored_run_json(
	struct store *store, const struct run_record *record, json_t **object);
/* Those last two: lists in the order in which they were made, the last entry holds. */
enum store_status stored_entries(struct store *store, const struct run_record *record,
	json_t **fractures, json_t **corrections);

/* Writes the value on a line of its own (indented for people) and gives it back. Exit code. */
int stored_put_json(const char *command, json_t *value);

#endif
