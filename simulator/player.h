/* SPDX-License-Identifier: MIT
 *
 * What the simulated press does from one line to the next: zeros while idle, one curve after the
 * other, and what a real press lays over them (noise, pump ripple, hunting of the regulator). Knows
 * no clock: it says at which time after the program's begin the next line is due.
 */
#ifndef SIMULATOR_PLAYER_H
#define SIMULATOR_PLAYER_H

#include "curves.h"
#include "measure/curve.h"
#include "random.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* One loading: a named curve, or a recorded one if named is NULL. */
struct player_piece {
	const struct curves_entry *named;
	struct curve recorded; /* owned by whoever made the piece */
	const char *name;      /* for people */
};

struct player_setup {
	const struct player_piece *pieces;
	size_t piece_count;
	struct curves_specimen specimen;
	double line_hz;      /* lines per second */
	bool recorded_times; /* recorded curves: one line per sample, at the sample's time */
	double speed;        /* the curves' seconds pass so many times faster: rates rise with it */
	double pause_s;      /* zeros before each curve and after the last */
	bool start_on_command;             /* a curve waits for player_start */
	double zero_newton;                /* what the unloaded press reads */
	double noise_newton;               /* standard deviation */
	double ripple_newton, ripple_hz;   /* amplitude; only under load */
	double hunting_newton, hunting_hz; /* likewise */
};

struct player {
	struct player_setup setup;
	size_t piece; /* playing or next */
	bool playing;
	bool started;       /* told to begin the next piece */
	double held_newton; /* the load while nothing is played */
	size_t sample;      /* next one of a recorded curve played at its own times */
	int64_t begin_ns;   /* of the piece playing */
	int64_t idle_ns;    /* since when nothing is played */
	int64_t next_ns;
};

struct player_tick {
	int64_t time_ns; /* after the program's begin, never decreasing */
	double load_newton;
	bool begins, ends; /* with this line piece begins or has ended */
	size_t piece;      /* which of them */
};

/* The pieces outlive the player. */
void player_init(struct player *player, const struct player_setup *setup);
/* Lets the next curve begin; told twice before it begins is told once. */
void player_start(struct player *player);
/* Holds this load while nothing is played; 0: unloaded. */
void player_hold(struct player *player, double load_newton);
/* Gives the next line; false when all is played and the last pause is over (never where there
 * are no curves or where they wait for a command). */
bool player_next(struct player *player, struct random *random, struct player_tick *tick);

#endif
