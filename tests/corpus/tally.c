/* SPDX-License-Identifier: MIT
 *
 * Adding, writing and reading what was counted.
 */
#include "tally.h"

#include <math.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

static const struct {
	const char *name;
	size_t offset;
} counters[] = {
#define TALLY_ROW(name) {#name, offsetof(struct tally, name)},
	TALLY_COUNTERS(TALLY_ROW)
#undef TALLY_ROW
};

enum { COUNTERS = sizeof counters / sizeof counters[0], LINE_SIZE = 200 };

static int64_t *counter_of(struct tally *tally, size_t index)
{
	return (int64_t *)(void *)((char *)tally + counters[index].offset);
}

void tally_late(struct tally *tally, bool thirty, enum press press, double late_s)
{
	double bin = late_s < 0 ? TALLY_BINS - 1 : fmin(late_s / TALLY_BIN_S, TALLY_BINS - 2);
	tally->late[thirty][press][(size_t)bin]++;
}

void tally_add(struct tally *sum, const struct tally *more)
{
	/* nothing but counters */
	int64_t *to = (int64_t *)(void *)sum;
	const int64_t *from = (const int64_t *)(const void *)more;
	for (size_t i = 0; i < sizeof *sum / sizeof *to; i++)
		to[i] += from[i];
}

int64_t tally_wrong(const struct tally *tally)
{
	return tally->whole_wrong + tally->time_wrong + tally->verdict_refuge +
	       tally->verdict_alarm + tally->verdict_miss + tally->other_wrong +
	       tally->reason_wrong + tally->event_missed + tally->event_false + tally->again_wrong;
}

void tally_write(FILE *file, const char *name, const struct tally *tally)
{
	struct tally copy = *tally;
	for (size_t i = 0; i < COUNTERS; i++) {
		if (*counter_of(&copy, i) != 0)
			fprintf(file, "%s\t%s\t%lld\n", name, counters[i].name,
				(long long)*counter_of(&copy, i));
	}
	const int64_t *late = &tally->late[0][0][0];
	for (size_t i = 0; i < sizeof tally->late / sizeof *late; i++) {
		if (late[i] != 0)
			fprintf(file, "%s\tlate_%zu\t%lld\n", name, i, (long long)late[i]);
	}
}

static int64_t *counter_named(struct tally *tally, const char *name)
{
	size_t places = sizeof tally->late / sizeof(int64_t), place;
	if (sscanf(name, "late_%zu", &place) == 1 && place < places)
		return &tally->late[0][0][0] + place;
	for (size_t i = 0; i < COUNTERS; i++) {
		if (strcmp(name, counters[i].name) == 0)
			return counter_of(tally, i);
	}
	return NULL;
}

static struct tally *tally_named(struct tallies *tallies, const char *name)
{
	for (size_t k = 0; k <= kinds_count(); k++) {
		if (strcmp(name, kinds_table()[k].name) == 0)
			return &tallies->kind[k];
	}
	return NULL;
}

bool tally_read(FILE *file, struct tallies *tallies)
{
	char line[LINE_SIZE], kind[LINE_SIZE], counter[LINE_SIZE];
	long long value;
	while (fgets(line, sizeof line, file) != NULL) {
		if (sscanf(line, "%[^\t]\t%[^\t]\t%lld", kind, counter, &value) != 3)
			return false;
		struct tally *tally = tally_named(tallies, kind);
		int64_t *place = tally != NULL ? counter_named(tally, counter) : NULL;
		if (place == NULL)
			return false;
		*place += value;
	}
	return true;
}
