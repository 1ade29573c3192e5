/* SPDX-License-Identifier: MIT
 *
 * The comparison. The export begins before the curve and goes on after it (the unloaded press), so
 * the curve is first found in it.
 */
#include "exported.h"

#include "base/units.h"
#include "unit/check.h"

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>

/* How late a line may be on a machine that runs other tests at the same time. */
#define LATE_NS (INT64_C(500) * CLOCKS_NS_PER_MS)

void exported_read(const char *path, struct curve *curve)
{
	struct message why;
	char *text = NULL;
	size_t size = 0;
	FILE *file = fopen(path, "re");
	if (file == NULL)
		fail_msg("cannot read %s", path);
	ssize_t length = getdelim(&text, &size, '\0', file);
	fclose(file);
	assert_true(length > 0);
	if (!curve_parse(path, text, (size_t)length, curve, &why))
		fail_msg("%s", why.text);
	free(text);
}

void exported_run(struct lab *lab, const char *run, struct curve *curve)
{
	char path[LAB_PATH_SIZE];
	snprintf(path, sizeof path, "%.60s/export-%.20s.csv", lab->folder, run);
	lab_must(lab, 0, "export", run, "--output", path, NULL);
	exported_read(path, curve);
}

static bool is_same_load(const struct sample *a, const struct sample *b, double resolution_newton)
{
	double difference = (double)(a->load_un - b->load_un) / (double)UNITS_UN_PER_N;
	return fabs(difference) <= resolution_newton / 2 + 1e-6;
}

/* How many samples of the played curve the export holds from there on, one after the other. */
static size_t match_length(const struct curve *exported, size_t offset, const struct curve *played,
	double resolution_newton)
{
	size_t i = 0;
	while (i < played->count && offset + i < exported->count &&
		is_same_load(
			&exported->samples[offset + i], &played->samples[i], resolution_newton))
		i++;
	return i;
}

/* Up to the last sample at which the specimen bore a load: the run is over soon after. */
static size_t loaded_count(const struct curve *played)
{
	size_t count = played->count;
	while (count > 0 && played->samples[count - 1].load_un < LAB_CONTACT_UN)
		count--;
	return count;
}

static void check_times(const struct sample *exported, const struct curve *played, size_t count)
{
	for (size_t i = 0; i < count; i++) {
		int64_t is = exported[i].time.ns - exported[0].time.ns;
		int64_t should = played->samples[i].time.ns - played->samples[0].time.ns;
		if (llabs(is - should) > LATE_NS)
			fail_msg("sample %zu came %" PRId64 " ms after its time", i,
				(is - should) / CLOCKS_NS_PER_MS);
	}
}

void exported_must_equal(
	const struct curve *exported, const struct curve *played, double resolution_newton)
{
	size_t best = 0, best_at = 0;
	for (size_t offset = 0; offset < exported->count; offset++) {
		size_t length = match_length(exported, offset, played, resolution_newton);
		if (length > best) {
			best = length;
			best_at = offset;
		}
	}
	if (best < loaded_count(played))
		fail_msg("of %zu samples played under load, %zu are in the export of %zu",
			loaded_count(played), best, exported->count);
	check_times(&exported->samples[best_at], played, best);
}
