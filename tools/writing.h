/* SPDX-License-Identifier: MIT
 *
 * How a command gets something written: by asking the daemon, which owns the one connection that
 * writes; where no daemon runs, by taking the daemon's lock and writing to the database itself.
 */
#ifndef TOOLS_WRITING_H
#define TOOLS_WRITING_H

#include "store/store.h"
#include "wire/request.h"

#include <argp.h>

struct writing {
	const char *command; /* "ramplog seat" */
	const char *database;
	const char *socket;
	struct request request;
	json_t **answer; /* where the daemon's goes, the caller's to drop; NULL: nowhere */
};

extern const struct argp writing_argp; /* --database and --socket; input: struct writing * */

/* Takes the child parser's input and two words, in their order; argp_error's exit where there are
 * more, or fewer: missing asks for them. take gets 0 or 1 with each. For a command's parser, which
 * handles its options first. */
typedef void writing_take(struct argp_state *state, unsigned which, const char *typed);
error_t writing_parse_two(int key, const char *typed, struct argp_state *state, writing_take *take,
	const char *missing);

/* Does what the request says. Says on stderr what stood in the way; gives the exit code. */
int writing_do(const struct writing *writing);

#endif
