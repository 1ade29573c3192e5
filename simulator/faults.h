/* SPDX-License-Identifier: MIT
 *
 * What goes wrong on the way from a cell to the computer: one probability per line sent for each
 * kind. The random numbers come in from outside, so that one seed decides everything.
 */
#ifndef SIMULATOR_FAULTS_H
#define SIMULATOR_FAULTS_H

#include "random.h"

#include <stddef.h>

enum faults_kind {
	FAULTS_GARBAGE, /* random bytes instead of the line */
	FAULTS_DROP,    /* the line is not sent */
	FAULTS_HALF,    /* the line breaks off in the middle */
	FAULTS_SPIKE,   /* the line carries a load that is not there */
	FAULTS_SILENCE, /* nothing is sent for a while */
	FAULTS_UNPLUG,  /* the device vanishes and comes back under another number */
	FAULTS_COUNT,
	FAULTS_NONE = FAULTS_COUNT,
};

struct faults {
	double probability[FAULTS_COUNT];
};

/* FAULTS_NONE if there is none of that name (length bytes of it). */
enum faults_kind faults_find(const char *name, size_t length);
/* What happens to the next line. Draws one random number, whatever the probabilities. */
enum faults_kind faults_draw(const struct faults *faults, struct random *random);

#endif
