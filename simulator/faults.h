/* SPDX-License-Identifier: MIT
 *
 * What goes wrong on the way from a cell to the computer, and when: a table of kinds, rules of the
 * command line, and for each cell which faults are in force now. What they do to the bytes is in
 * wire.h. Knows no clock; the random numbers come in from outside, so that one seed decides
 * everything.
 */
#ifndef SIMULATOR_FAULTS_H
#define SIMULATOR_FAULTS_H

#include "base/message.h"
#include "random.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

/* In the order in which they are applied. */
enum faults_kind {
	/* to the load and its line */
	FAULTS_STUCK,
	FAULTS_SPIKE,
	FAULTS_UNIT,
	FAULTS_HALF,
	FAULTS_NUL,
	FAULTS_GARBAGE,
	FAULTS_BAUD,
	FAULTS_DROP,
	/* to the stream */
	FAULTS_FLOOD,
	FAULTS_ENDLESS,
	FAULTS_BURST,
	FAULTS_BYTES,
	FAULTS_SILENCE,
	FAULTS_REBOOT,
	/* to the port */
	FAULTS_UNPLUG,
	FAULTS_LOCK,
	FAULTS_COUNT,
	FAULTS_NONE = FAULTS_COUNT,
};

/* One --fault. Without a probability and a time it is in force from the beginning. */
struct faults_rule {
	enum faults_kind kind;
	double probability; /* per line; 0: not by chance */
	double at_s;        /* after the beginning of each curve; negative: not by the clock */
	double for_s;       /* how long it lasts; INFINITY: until it is mended */
	double value;       /* the kind's own parameter */
};

enum { FAULTS_RULES_MAX = 16 };

struct faults_plan {
	struct faults_rule rules[FAULTS_RULES_MAX];
	size_t count;
};

/* "KIND[=P][,at=S][,for=S][,NAME=X]". False: why says what is wrong with it. */
bool faults_parse(const char *text, struct faults_rule *rule, struct message *why);
/* FAULTS_NONE if there is none of that name. */
enum faults_kind faults_find(const char *name);
const char *faults_name(enum faults_kind kind);
/* Whether it lasts for a time, rather than befalling single lines. */
bool faults_lasts(enum faults_kind kind);
/* The table, for people. Static text. */
const char *faults_help(void);

/* The faults of one cell. */
struct faults {
	const struct faults_plan *plan; /* outlives it */
	bool fired[FAULTS_RULES_MAX];   /* in this curve */
	int64_t until_ns[FAULTS_COUNT]; /* of what lasts; one line more for what does not */
	double value[FAULTS_COUNT];
	bool told[FAULTS_COUNT];     /* to befall the next line, by command */
	bool in_force[FAULTS_COUNT]; /* for this line */
};

void faults_init(struct faults *faults, const struct faults_plan *plan);
/* Decides for the line at now_ns; since_ns is the time since the curve began, negative where none
 * has yet. */
void faults_step(struct faults *faults, struct random *random, int64_t now_ns, int64_t since_ns);
/* By command: befalls the next line, or lasts until it is mended. */
void faults_begin(struct faults *faults, enum faults_kind kind);
/* Ends whatever lasts. */
void faults_mend(struct faults *faults);

#endif
