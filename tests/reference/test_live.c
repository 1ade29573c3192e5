/* SPDX-License-Identifier: MIT
 *
 * What a person at the valve would have seen while the 37 real crushing tests were going on
 * (LebeDigital open research data, MIT licence; see tests/README.md): all were loaded at a set 0.50
 * MPa/s by a press that hunts, so that under EN 12390-3 with a chosen 0.50 MPa/s there was nothing
 * to warn of, whatever a window of a second or two says.
 */
#include "reference.h"

#include "result/method.h"
#include "unit/check.h"

#include <glob.h>
#include <stdio.h>
#include <string.h>

enum { CRUSHED_COUNT = 37 };

/* As `ramplog assess` finds contact in a file: this part of the highest load. */
static const double contact_part = 0.005;

static int64_t highest_un(const struct curve *curve)
{
	int64_t highest = 0;
	for (size_t i = 0; i < curve->count; i++) {
		if (curve->samples[i].load_un > highest)
			highest = curve->samples[i].load_un;
	}
	return highest;
}

static void make_plan(const char *name, const struct curve *curve, struct plan *plan)
{
	bool cylinder = strncmp(name, "cyl", 3) == 0;
	struct message why;
	struct specimen specimen = {.shape = cylinder ? SHAPE_CYLINDER : SHAPE_CUBE,
		.width_um = {cylinder ? 99000 : 150000, cylinder ? 99000 : 150000},
		.length_um = cylinder ? 299000 : 150000,
		.chosen_rate_pa_s = 0.5e6};
	if (!method_plan(method_find("en-12390-3"), &specimen, plan, &why))
		fail_msg("%s", why.text);
	plan->anticipated_load_un = highest_un(curve);
	plan->contact_un = (int64_t)(contact_part * (double)plan->anticipated_load_un);
}

/* Seconds with a warning up to the highest load; each that begins is told. */
static double warned_s(const char *name, struct judge *judge, const struct curve *curve)
{
	int64_t highest = highest_un(curve), last_ns = curve->samples[0].time.ns;
	double warned = 0;
	bool before = false;
	for (size_t i = 0; i < curve->count; i++) {
		const struct sample *sample = &curve->samples[i];
		struct live live;
		if (judge_feed(judge, sample))
			break;
		judge_live(judge, &live);
		if (live.warning && !before)
			print_message("%s at %.1f s: %s\n", name, (double)sample->time.ns * 1e-9,
				live.text);
		if (before)
			warned += (double)(sample->time.ns - last_ns) * 1e-9;
		before = live.warning;
		last_ns = sample->time.ns;
		if (sample->load_un == highest)
			break;
	}
	return warned;
}

static double watch(const char *path)
{
	char name[REFERENCE_PATH_SIZE];
	const char *file = strrchr(path, '/') + 1;
	snprintf(name, sizeof name, "%.*s", (int)strcspn(file, "."), file);
	struct curve curve;
	struct plan plan;
	reference_curve(name, &curve);
	make_plan(name, &curve, &plan);
	struct judge *judge = judge_create(JUDGE_TRACK_MAX);
	assert_non_null(judge);
	judge_start(judge, &plan);
	double warned = warned_s(name, judge, &curve);
	judge_destroy(judge);
	curve_finish(&curve);
	return warned;
}

static void no_false_warning(void **state)
{
	(void)state;
	char pattern[REFERENCE_PATH_SIZE];
	glob_t found;
	double warned = 0;
	reference_path("curves/c*.csv", pattern);
	assert_int_equal(glob(pattern, 0, NULL, &found), 0);
	assert_int_equal(found.gl_pathc, CRUSHED_COUNT);
	for (size_t i = 0; i < found.gl_pathc; i++)
		warned += watch(found.gl_pathv[i]);
	globfree(&found);
	if (warned > 0)
		fail_msg("warned for %.1f s", warned);
}

int main(void)
{
	if (!reference_is_there())
		return REFERENCE_SKIPPED;
	const struct CMUnitTest tests[] = {cmocka_unit_test(no_false_warning)};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
