/* SPDX-License-Identifier: MIT
 *
 * Habits over weeks, on the terminal and on a page.
 */
#include "../check.h"
#include "../store/fixture.h"
#include "calls.h"
#include "commands.h"
#include "paper.h"
#include "synthetic.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static void trend_on_a_page(void **state)
{
	const char *database = *state;
	paper_runs(database);
	paper_done(database, "t.svg", "trend --by technician");
	char *svg = paper_read(database, "t.svg", NULL);
	calls_say(svg, "Stress rates by technician");
	calls_say(svg, ">mara</text>");
	calls_say(svg, "not entered: half of the runs go above the band");
	free(svg);
	assert_int_equal(paper_make(database, "t.svg", "trend --press nowhere"), EXIT_NO);
	assert_int_equal(paper_make(database, "t.txt", "trend"), EXIT_CANNOT);
}

/* Ten runs of each of three technicians in five weeks. What a habit is is named whatever the chart
 * is by, and nobody else is: jo's changeovers overshoot; on press south the rate creeps; kim's runs
 * are few, and who entered nothing is nobody. */
static void habits_are_named(void **state)
{
	static const char *const technicians[] = {"ada", "jo", "ben"};
	const char *database = *state;
	struct store *store = fixture_open(database, STORE_WRITE);
	for (int i = 0; i < 35; i++) {
		char name[16];
		struct synthetic run;
		synthetic_init(&run);
		snprintf(name, sizeof(name), "h-%d", i);
		run.specimen = name;
		run.technician = i < 30 ? technicians[i % 3] : i < 32 ? "kim" : NULL;
		run.press = i % 2 ? "south" : "north";
		run.rate_mpa_s = 0.25 + (i % 2 ? 0.002 * i : 0);
		run.overshoot = i % 3 == 1 || i >= 30 ? 0.9 : 0.03;
		run.started_days = i < 30 ? i : 30 + 0.1 * (i - 30);
		run.readings_s = 10;
		run.seed = (unsigned)i + 1;
		synthetic_add(store, &run);
	}
	store_close(store);
	static const char *const lines[] = {"trend", "trend --by press", "trend --by technician"};
	for (size_t i = 0; i < 3; i++) {
		calls_done(database, lines[i]);
		calls_say(calls_out, i < 2 ? "\njo: half of the runs overshoot the band"
					   : "\njo: half of the runs go above the band");
		calls_say(calls_out, "\nsouth: the rate creeps up");
		calls_say(calls_out, "-2    -1    0    +1    +2  ");
		assert_null(strstr(calls_out, "\nnorth: the"));
		assert_null(strstr(calls_out, "\nada: "));
		assert_null(strstr(calls_out, "\nben: "));
		if (i < 2)
			assert_true(!strstr(calls_out, "\nkim: ") &&
				    !strstr(calls_out, "\nnot entered: "));
	}
	paper_done(database, "t.svg", "trend");
	char *svg = paper_read(database, "t.svg", NULL);
	calls_say(svg, "jo: half of the runs overshoot");
	calls_say(svg, "south: the rate creeps up");
	free(svg);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		FIXTURE_TEST(trend_on_a_page),
		FIXTURE_TEST(habits_are_named),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
