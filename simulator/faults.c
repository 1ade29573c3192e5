/* SPDX-License-Identifier: MIT
 *
 * The names of the faults and their drawing. At most one fault befalls a line: the probabilities
 * are laid side by side on [0, 1).
 */
#include "faults.h"

#include <string.h>

static const char *const names[FAULTS_COUNT] = {
	[FAULTS_GARBAGE] = "garbage",
	[FAULTS_DROP] = "drop",
	[FAULTS_HALF] = "half",
	[FAULTS_SPIKE] = "spike",
	[FAULTS_SILENCE] = "silence",
	[FAULTS_UNPLUG] = "unplug",
};

enum faults_kind faults_find(const char *name, size_t length)
{
	for (int kind = 0; kind < FAULTS_COUNT; kind++)
		if (strlen(names[kind]) == length && memcmp(names[kind], name, length) == 0)
			return (enum faults_kind)kind;
	return FAULTS_NONE;
}

enum faults_kind faults_draw(const struct faults *faults, struct random *random)
{
	double point = random_unit(random);
	for (int kind = 0; kind < FAULTS_COUNT; kind++) {
		if (point < faults->probability[kind])
			return (enum faults_kind)kind;
		point -= faults->probability[kind];
	}
	return FAULTS_NONE;
}
