/* SPDX-License-Identifier: MIT
 *
 * rampsim's command line.
 */
#ifndef SIMULATOR_OPTIONS_H
#define SIMULATOR_OPTIONS_H

#include "dialect.h"
#include "faults.h"
#include "player.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum { OPTIONS_PIECES_MAX = 64, OPTIONS_LINKS_MAX = 8 };

struct options {
	struct player_setup player; /* its pieces are the ones below */
	struct player_piece pieces[OPTIONS_PIECES_MAX];
	const char *links[OPTIONS_LINKS_MAX]; /* one per cell of the press */
	size_t link_count;
	size_t slave_count;               /* instruments behind each link, at addresses from 1 on */
	double shares[OPTIONS_LINKS_MAX]; /* of the load that each cell carries; they add up to 1 */
	size_t share_count;               /* given */
	const struct dialect *dialect;
	struct dialect_setup line;
	struct faults_plan faults;
	const char *start_word; /* NULL: curves begin by themselves */
	bool wait_for_reader;
	uint64_t seed;
};

/* Reads the arguments; a wrong one ends the program with a message and status 2. */
void options_parse(struct options *options, int argc, char **argv);
void options_finish(struct options *options);

#endif
