/* SPDX-License-Identifier: MIT
 *
 * What a laboratory enters and asks around a break, without a daemon: methods confirmed, specimens
 * registered with all that was measured, what is due, labels.
 */
#include "../check.h"
#include "../store/fixture.h"
#include "calls.h"
#include "commands.h"
#include "desk.h"
#include "paper.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static void a_method_is_confirmed_once(void **state)
{
	const char *path = *state;
	desk_run(path);
	calls_done(path, "show 1 --ascii");
	calls_say(calls_out, "not confirmed by the laboratory");
	char *report = paper_text(path, "report 1");
	calls_say(report, "ASTM C39/C39M (SI), not confirmed by the laboratory");
	free(report);
	calls_done(path, "methods astm-c39");
	calls_say(calls_out, "confirmed   not by the laboratory");
	calls_refused(path, "methods --confirm astm-c39", "which --edition");
	calls_refused(path, "methods --confirm yard-9 --edition 1", "there is no method 'yard-9'");
	calls_done(path, "methods --confirm astm-c39 --edition C39M-21 --note copy-14");
	calls_say(calls_out, "astm-c39 is confirmed against C39M-21");
	calls_done(path, "methods astm-c39");
	calls_say(calls_out, "against C39M-21 by ");
	calls_say(calls_out, ": copy-14");
	calls_done(path, "show 1 --ascii");
	calls_say(calls_out, "confirmed against C39M-21");
	report = paper_text(path, "report 1");
	calls_say(report, "confirmed against edition");
	assert_null(strstr(report, "not confirmed"));
	free(report);
	/* Not another one. */
	calls_done(path, "methods en-12390-3");
	calls_say(calls_out, "confirmed   not by the laboratory");
	calls_done(path, "audit");
}

static void measured_and_weighed(void **state)
{
	const char *path = *state;
	struct detail detail;
	desk_run(path);
	/* 12.95 kg, 305 mm, 151.5 mm: 2355.35, reported 2360 kg/m3 */
	calls_done(path, "register B-1 --diameter-mm 151.5,151.25,151.75 --length-mm "
			 "304,305,306 --mass-kg 12.95 --age 28d --moist yes --ends "
			 "unbonded --pad P7 --hardness 60 --anticipated-mpa 30");
	calls_say(calls_out, "B-1 is registered, 18026.7 mm2, 2360 kg/m3");
	assert_string_equal(calls_err, "");
	struct specimen specimen = desk_find(path, "B-1", &detail);
	assert_int_equal(specimen.width_um[0], 151500);
	assert_int_equal(specimen.length_um, 305000);
	assert_int_equal(detail.width_count, 3);
	assert_int_equal(detail.widths_um[2], 151750);
	assert_int_equal(detail.mass_mg, 12950000);
	/* what the standard asks to be noted is noted, what it forbids is refused */
	calls_done(path, "register B-2 --diameter-mm 150.1 --length-mm 300 --moist "
			 "no --ends ground");
	calls_say(calls_err, "NOTE: 150.100 mm is not to the nearest 0.25 mm");
	calls_say(calls_err, "NOTE: the specimen was not kept moist");
	static const char *const refused[][2] = {
		{"register B-3 --diameter-mm 150,151,153.25", "differ by more than 2 %"},
		{"register B-3 --diameter-mm 150 --square-deg 0.6", "out of square"},
		{"register B-3 --diameter-mm 150 --plane-mm 0.06 --ends ground", "out of plane"},
		{"register B-3 --diameter-mm 150 --ends glued", "--ends: 'glued'"},
		{"register B-3 --diameter-mm 150 --age 28", "--age: '28' is no age"},
		{"register B-3 --diameter-mm 150 --hardness 130", "no Shore A hardness"},
		{"register B-3 --diameter-mm 150 --mass-kg 0", "must be a number above zero"},
		{"register B-3 --diameter-mm 1,1,1,1,1,1,1,1,1", "more than 8 measures"},
		{"register B-3", "give --diameter-mm"},
	};
	for (size_t i = 0; i < sizeof(refused) / sizeof(refused[0]); i++)
		calls_refused(path, refused[i][0], refused[i][1]);
	calls_done(path, "register B-1 --diameter-mm 151.5 --length-mm 305 "
			 "--mass-kg 13.95 --correct mistyped");
	calls_say(calls_out, "B-1 is corrected, 18026.7 mm2, 2540 kg/m3");
	calls_done(path, "audit");
}

static void beams_and_prisms(void **state)
{
	const char *path = *state;
	struct detail detail;
	desk_run(path);
	calls_done(path, "register F-1 --method astm-c78 --beam-mm 150,152 "
			 "--span-mm 450");
	struct specimen specimen = desk_find(path, "F-1", &detail);
	assert_int_equal(specimen.shape, SHAPE_BEAM);
	assert_int_equal(specimen.width_um[1], 152000);
	assert_int_equal(specimen.length_um, 450000);
	calls_done(path, "register P-1 --method astm-c1314 --prism-in 7.625,15.625 "
			 "--height-in 15.625 --anticipated-mpa 15");
	specimen = desk_find(path, "P-1", &detail);
	assert_int_equal(specimen.shape, SHAPE_PRISM);
	assert_int_equal(specimen.width_um[0], 193675);
	calls_refused(path, "register F-2 --method astm-c39 --beam-mm 150,150", "cylinder");
}

/* All that was entered is shown, with the fracture as the run's method has it. */
static void shown_whole(void **state)
{
	const char *path = *state;
	desk_run(path);
	calls_done(path, "register A-1 --set set-A --diameter-mm 100,100.25,100.5 "
			 "--length-mm 200,201,202 --anticipated-mpa 3 --correct measured "
			 "--cast 2026-01-28T06:13:20Z --age 28d --mass-kg 3.74 --ends "
			 "unbonded --pad P7 --hardness 50 --square-deg 0.25 --plane-mm 0.04 "
			 "--moist no --lot L3");
	calls_done(path, "fracture 1 5 --defects voids,near,the,top --cap-defects "
			 "chipped --note around,the,aggregate");
	calls_done(path, "fracture 1 4");
	calls_done(path, "show 1 --ascii");
	static const char *const wanted[] = {"  registered          2026-", " by mara (uid ",
		"widths measured     100.000, 100.250, 100.500 mm",
		"lengths measured    200.000, 201.000, 202.000 mm", "mould lot           L3",
		"mass                3.74 kg", "density             2370 kg/m3",
		"ends                unbonded caps, pads P7, Shore A 50",
		"out of square by    0.25 degrees", "out of plane by     0.04 mm",
		"kept moist          no", "age                 28 d, intended 28 d \302\261 20 h",
		"note                the specimen was not kept moist until the",
		"type                5: side fractures at top or bottom", "|     \\|\n",
		"remarks             specimen: voids,near,the,top; caps: chipped;",
		"type                4: diagonal fracture", "|   /  |\n", "entered "};
	for (size_t i = 0; i < sizeof(wanted) / sizeof(wanted[0]); i++)
		calls_say(calls_out, wanted[i]);
	assert_true(strstr(calls_out, "\nspecimen") < strstr(calls_out, "\ncells"));
	assert_true(strstr(calls_out, "\nthresholds") < strstr(calls_out, "\noutcome"));
	assert_true(strstr(calls_out, "\noutcome") < strstr(calls_out, "\nfracture"));
	desk_narrow(calls_out);
}

/* Each family of methods has its own kinds of fracture, and no other. */
static void fractures_by_method(void **state)
{
	const char *path = *state;
	static const struct {
		const char *method, *right;
	} cases[] = {{"astm-c39", "diagonal"}, {"en-12390-3", NULL}, {"astm-c496", NULL},
		{"astm-c109", NULL}, {"astm-c1314", "split from top to bottom"}};
	calls_done(path, "fracture --help");
	calls_say(calls_out, "ASTM C39 and C42");
	calls_say(calls_out, "\n  4  diagonal");
	calls_say(calls_out, "EN 12390-3, IS 516, ASTM C109");
	calls_say(calls_out, "\n  2  unsatisfactory: ");
	calls_say(calls_out, "\n  3  farther outside: no result");
	calls_say(calls_out, "ASTM C496, EN 12390-6");
	desk_narrow(calls_out);
	for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]); i++) {
		const struct method *method = method_find(cases[i].method);
		const struct method_fracture *fracture = method_fracture(method, 4);
		assert_int_equal(fracture != NULL, cases[i].right != NULL);
		if (fracture)
			calls_say(fracture->words, cases[i].right);
	}
}

/* A scanner is a keyboard: ids come one after the other, a line each. */
static void scanned_ids(void **state)
{
	const char *path = *state;
	struct detail detail;
	desk_run(path);
	assert_int_equal(calls_run_with(path, "register --set S --diameter-mm 100 --length-mm 200",
				 "S-1\r\n  S-2\n\nS-3\n"),
		EXIT_DONE);
	calls_say(calls_out, "S-1 is registered");
	assert_string_equal(desk_find(path, "S-2", &detail).set, "S");
	assert_null(strstr(calls_out, "S-3"));
	assert_int_equal(calls_run_with(path, "seat north", "S-2\n"), EXIT_DONE);
	calls_say(calls_out, "S-2 is the next specimen in north");
	assert_int_equal(calls_run_with(path, "seat north", "S-9\nS-1\n"), EXIT_CANNOT);
	calls_say(calls_err, "S-9 is not registered");
	calls_say(calls_out, "S-1 is the next specimen in north");
	calls_refused(path, "seat north", "which SPECIMEN?");
}

static void a_file_of_specimens(void **state)
{
	const char *path = *state;
	struct detail detail;
	desk_run(path);
	assert_int_equal(desk_register(path,
				 "\xef\xbb\xbfid,diameter_mm,length_mm,cast,age,set\r\n"
				 "C-1,\"100,100.25\",200,2026-11-18T09:30+01:00,28d,C\r\n"
				 "\r\n"
				 "C-2, 100 ,200,,,\r\n",
				 " --set other --moist yes"),
		EXIT_DONE);
	calls_say(calls_out, "2 specimens are registered");
	struct specimen specimen = desk_find(path, "C-1", &detail);
	assert_int_equal(specimen.width_um[1], 100250);
	assert_string_equal(specimen.set, "C");
	assert_int_equal(detail.moist, DETAIL_MOIST_YES);
	assert_string_equal(desk_find(path, "C-2", &detail).set, "other");
	assert_int_equal(desk_register(path, "id;diameter-mm\nC-3;100,100.25\n", ""), EXIT_DONE);
	assert_int_equal(desk_find(path, "C-3", &detail).width_um[1], 100250);
}

/* Every error is told with its place, and nothing is written. */
static void errors_of_a_file(void **state)
{
	const char *path = *state;
	struct specimen specimen;
	desk_run(path);
	assert_int_equal(desk_register(path,
				 "id,diameter_mm,length_mm,mass_kg,cast\n"
				 "D-1,100,200,4,\n"
				 "D-2,ten,200,-1,yesterday\n"
				 "A-1,100,200,4,\n"
				 "D-1,100,200,4,\n"
				 ",100,200,4,\n"
				 "D-5,100,200\n"
				 "D-6,100,\"200,4,\n"
				 "D-7,100,800,4,\n",
				 ""),
		EXIT_CANNOT);
	calls_say(calls_err, "csv:3: diameter_mm: 'ten' is no length\n");
	calls_say(calls_err, "csv:3: mass_kg: ");
	calls_say(calls_err, "csv:3: cast: 'yesterday' is no ISO 8601 time");
	calls_say(calls_err, "csv:4: A-1: specimen A-1 is registered already");
	calls_say(calls_err, "csv:5: D-1: an earlier line has the same id");
	calls_say(calls_err, "csv:6: id: which specimen?");
	calls_say(calls_err, "csv:7: D-5: has not as many cells");
	calls_say(calls_err, "csv:8: D-6: a quotation mark is not closed");
	calls_say(calls_err, "csv:9: D-7: length 800");
	calls_say(calls_err, "nothing is registered: 9 errors");
	struct store *store = fixture_open(path, STORE_READ);
	assert_int_equal(store_specimen_find(store, "D-1", &specimen), STORE_NONE);
	store_close(store);
	assert_int_equal(desk_register(path, "id,colour\nD-1,red\n", ""), EXIT_CANNOT);
	calls_say(calls_err, "csv:1: colour: no such column");
	assert_int_equal(desk_register(path, "diameter_mm\n100\n", ""), EXIT_CANNOT);
	calls_say(calls_err, "csv:1: there is no column id");
	assert_int_equal(desk_register(path, "", ""), EXIT_CANNOT);
	calls_say(calls_err, "csv:1: the file is empty");
	assert_int_equal(desk_register(path, "id\n", ""), EXIT_CANNOT);
	calls_say(calls_err, "there is no row");
	calls_refused(path, "register --csv /nowhere/day.csv", "/nowhere/day.csv: No such file");
}

/* What the tolerance no longer covers is overdue; days are the laboratory's, here UTC. */
static void what_is_due(void **state)
{
	const char *path = *state;
	setenv("TZ", "UTC", 1);
	desk_run(path);
	assert_int_equal(calls_run(path, "due"), EXIT_NO);
	calls_say(calls_err, "nothing is due");
	assert_int_equal(desk_register(path,
				 "id,diameter_mm,cast,age\n"
				 "E-1,100,2026-11-01T09:00Z,28d\n"
				 "E-2,100,2026-11-02T06:00+01:00,28d\n"
				 "E-3,100,2026-11-27T22:00Z,3d\n"
				 "E-4,100,2026-11-27T09:00Z,7d\n"
				 "E-5,100,2026-11-27T09:00Z,\n",
				 ""),
		EXIT_DONE);
	/* E-1 was due on the 29th at 9 and could be tested until 5 on the 30th (28 d +- 20 h). */
	calls_done(path, "due --at 2026-11-30T04:59Z");
	calls_say(calls_out, "today  2026-11-28T13:00Z  2026-11-30T05:00Z  28 d  "
			     "E-1");
	assert_null(strstr(calls_out, "OVERDUE"));
	/* the tolerance's end is in it */
	calls_done(path, "due --at 2026-11-30T05:00Z");
	assert_null(strstr(calls_out, "OVERDUE"));
	calls_done(path, "due --at 2026-11-30T05:01Z");
	calls_say(calls_out, "OVERDUE  2026-11-28T13:00Z  2026-11-30T05:00Z");
	calls_say(calls_out, "today    2026-11-29T09:00Z  2026-12-01T01:00Z");
	calls_say(calls_out, "today    2026-11-30T20:00Z  2026-12-01T00:00Z   3 d");
	assert_null(strstr(calls_out, "E-4"));
	assert_null(strstr(calls_out, "E-5"));
	calls_done(path, "due --all --at 2026-11-30T05:01Z");
	calls_say(calls_out, "later    2026-12-04T03:00Z");
	calls_done(path, "due --at 2026-11-29T12:00Z");
	calls_say(calls_out, "tomorrow  2026-11-30T20:00Z");
	calls_done(path, "due --json --at 2026-11-30T05:01Z");
	calls_say(calls_out, "\"when\": \"overdue\"");
	calls_say(calls_out, "\"when\": \"today\"");
	assert_null(strstr(calls_out, "OVERDUE"));
	calls_done(path, "due --ical --at 2026-11-30T05:01Z");
	calls_say(calls_out, "BEGIN:VCALENDAR\r\n");
	calls_say(calls_out, "UID:specimen-452d34@ramplog\r\nDTSTAMP:20261130T050100Z\r\n"
			     "DTSTART:20261204T030000Z\r\nDTEND:20261204T150000Z\r\n");
	calls_refused(path, "due --at today", "is no ISO 8601 time");
}

/* What a scanner reads from the label is the id, twice (read by zbarimg of zbar-tools). */
static void labels(void **state)
{
	const char *path = *state;
	char line[400];
	desk_run(path);
	calls_done(path, "register quay-7-1 --diameter-mm 100 --set quay-7 --cast "
			 "2026-11-01T09:00Z --age 28d");
	assert_int_equal(calls_run(path, "label quay-7-9"), EXIT_NO);
	calls_done(path, "label quay-7-1");
	calls_say(calls_out, "quay-7-1\nset quay-7\nASTM C39/C39M (SI)\ncast 2026-11-01T09:00Z\n"
			     "due 2026-11-29T09:00Z (28 d)\n");
	calls_say(calls_out, "\u2588\u2580\u2580\u2580\u2580\u2580\u2588");
	assert_int_equal(paper_make(path, "label.gif", "label quay-7-1"), EXIT_CANNOT);
	paper_done(path, "label.png", "label quay-7-1");
	snprintf(line, sizeof(line), "zbarimg -q %s 2>/dev/null", paper_beside(path, "label.png"));
	char *read_back = paper_printed(line);
	calls_say(read_back, "QR-Code:quay-7-1\n");
	calls_say(read_back, "CODE-128:quay-7-1\n");
	free(read_back);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		FIXTURE_TEST(a_method_is_confirmed_once),
		FIXTURE_TEST(measured_and_weighed),
		FIXTURE_TEST(beams_and_prisms),
		FIXTURE_TEST(shown_whole),
		FIXTURE_TEST(fractures_by_method),
		FIXTURE_TEST(scanned_ids),
		FIXTURE_TEST(a_file_of_specimens),
		FIXTURE_TEST(errors_of_a_file),
		FIXTURE_TEST(what_is_due),
		FIXTURE_TEST(labels),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
