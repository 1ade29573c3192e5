/* SPDX-License-Identifier: MIT
 *
 * Specimens that are measured for their lot.
 */
#include "../check.h"
#include "../store/fixture.h"
#include "calls.h"
#include "commands.h"
#include "desk.h"

#include <stdio.h>
#include <string.h>

/* Three of eleven are measured, of one lot: the mean counts for all, also for those three. */
static void measured_for_the_lot(void **state)
{
	const char *path = *state;
	struct detail detail;
	char text[600] = "id,lot,diameter_mm,length_mm\n"
			 "R-0,L,\"100,100.25\",200\nR-1,L,100.25,200\nR-2,L,100.5,200\n";
	desk_run(path);
	for (int i = 3; i < 11; i++)
		snprintf(text + strlen(text), 40, "R-%d,L,,200\n", i);
	assert_int_equal(desk_register(path, text, ""), EXIT_DONE);
	struct specimen specimen = desk_find(path, "R-7", &detail);
	/* (100.125 + 100.25 + 100.5) / 3 */
	assert_int_equal(specimen.width_um[0], 100292);
	assert_true(detail.reduced);
	assert_int_equal(detail.width_count, 0);
	specimen = desk_find(path, "R-2", &detail);
	assert_int_equal(specimen.width_um[1], 100292);
	assert_int_equal(detail.widths_um[0], 100500);
	/* too few, and too far apart */
	assert_int_equal(
		desk_register(path, "id,lot,diameter_mm\nT-0,N,100\nT-1,N,100\nT-2,N,\n", ""),
		EXIT_CANNOT);
	calls_say(calls_err, "csv:4: T-2: of 3 specimens 3 must be measured, not 2");
	assert_int_equal(desk_register(path,
				 "id,lot,diameter_mm\nT-0,N,100\nT-1,N,100\nT-2,N,100.75\n"
				 "T-3,N,\nT-4,M,\n",
				 ""),
		EXIT_CANNOT);
	calls_say(calls_err, "csv:5: T-3: the diameters of the lot are 0.75 mm apart");
	calls_say(calls_err, "csv:6: T-4: of 1 specimens 1 must be measured, not 0");
}

/* The same one by one, and with a file that comes later: three of four, then four of the day's. */
static void measured_for_the_lot_in_the_register(void **state)
{
	const char *path = *state;
	struct detail detail;
	static const char *const lines[] = {"register R-0 --lot L --length-mm 200 --diameter-mm "
					    "100,100.25",
		"register R-1 --lot L --length-mm 200 --diameter-mm 100.25"};
	desk_run(path);
	/* nothing measured yet, then too few */
	calls_refused(path, "register R-9 --lot L --length-mm 200",
		"R-9 was not measured, and lot L does not stand for it: of 1 specimens "
		"1 must be measured, not 0");
	for (size_t i = 0; i < 2; i++)
		calls_done(path, lines[i]);
	calls_refused(path, "register R-9 --lot L --length-mm 200",
		"of 3 specimens 3 must be measured, not 2");
	/* another lot's, and another method's, do not count */
	calls_done(path, "register M-1 --lot M --length-mm 200 --diameter-mm 100");
	assert_int_equal(calls_run(path, "register R-9 --lot L --length-mm 200"), EXIT_CANNOT);
	calls_done(path, "register R-2 --lot L --length-mm 200 --diameter-mm 100.5");
	calls_done(path, "register R-3 --lot L --length-mm 200");
	calls_say(calls_out, "R-3 is registered");
	calls_say(calls_out, "R-0 is corrected");
	/* (100.125 + 100.25 + 100.5) / 3 counts for all of them; what was measured stays */
	assert_int_equal(desk_find(path, "R-3", &detail).width_um[0], 100292);
	assert_int_equal(desk_find(path, "R-0", &detail).width_um[1], 100292);
	assert_true(detail.reduced);
	assert_int_equal(detail.widths_um[1], 100250);
	assert_int_equal(desk_find(path, "M-1", &detail).width_um[0], 100000);
	/* one more that is measured changes the mean of all, also by a file */
	assert_int_equal(desk_register(path,
				 "id,lot,diameter_mm,length_mm\nR-4,L,100.4,200\nR-5,L,,200\n", ""),
		EXIT_DONE);
	assert_int_equal(desk_find(path, "R-5", &detail).width_um[0], 100319);
	assert_int_equal(desk_find(path, "R-3", &detail).width_um[0], 100319);
	assert_int_equal(desk_find(path, "R-1", &detail).width_um[0], 100319);
	calls_done(path, "register R-6 --lot L --length-mm 200 --diameter-mm 100.25");
	assert_int_equal(desk_find(path, "R-6", &detail).width_um[0], 100305);
	assert_int_equal(detail.widths_um[0], 100250);
	assert_int_equal(desk_find(path, "R-5", &detail).width_um[0], 100305);
	/* too far apart: told, and nothing is taken from what was measured */
	calls_done(path, "register R-7 --lot L --length-mm 200 --diameter-mm 101");
	calls_say(calls_err, "NOTE: lot L, of which others were not measured: the diameters of the "
			     "lot are 0.88 mm apart, more than 0.50 mm: measure each specimen");
	assert_int_equal(desk_find(path, "R-7", &detail).width_um[0], 101000);
	calls_refused(path, "register R-8 --lot L --length-mm 200", "0.88 mm apart");
	calls_done(path, "audit");
}

/* Yesterday's do not stand for today's. */
static void a_lot_is_of_one_day(void **state)
{
	const char *path = *state;
	const struct utc_time before = {INT64_C(1772000000) * CLOCKS_NS_PER_S};
	struct detail detail;
	desk_run(path);
	struct store *store = fixture_open(path, STORE_WRITE);
	detail_init(&detail);
	strcpy(detail.lot, "L");
	assert_int_equal(store_begin(store), STORE_OK);
	for (int i = 0; i < 3; i++) {
		struct specimen specimen;
		char id[8];
		snprintf(id, sizeof(id), "Y-%d", i);
		fixture_specimen(&specimen, id);
		assert_int_equal(
			store_specimen_add(store, &specimen, &fixture_actor, before), STORE_OK);
		assert_int_equal(
			store_detail_add(store, id, &detail, "", &fixture_actor, before), STORE_OK);
	}
	assert_int_equal(store_commit(store), STORE_OK);
	store_close(store);
	calls_refused(path, "register R-9 --lot L --length-mm 200",
		"of 1 specimens 1 must be measured, not 0");
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		FIXTURE_TEST(measured_for_the_lot),
		FIXTURE_TEST(measured_for_the_lot_in_the_register),
		FIXTURE_TEST(a_lot_is_of_one_day),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
