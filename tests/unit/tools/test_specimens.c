/* SPDX-License-Identifier: MIT
 *
 * What a laboratory enters and asks around a break, without a daemon: methods confirmed, specimens
 * registered with all that was measured, what is due, sets of companions, labels.
 */
#include "../check.h"
#include "../store/fixture.h"
#include "calls.h"
#include "commands.h"

#include <jansson.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/* No line is wider than a terminal. */
static void check_narrow(const char *text)
{
	for (const char *line = text; *line; line += strcspn(line, "\n") + 1) {
		size_t width = 0;
		for (const char *c = line; *c && *c != '\n'; c++)
			width += ((unsigned char)*c & 0xc0) != 0x80;
		if (width > 80)
			fail_msg("wider than 80: %.120s", line);
	}
}

static void make_runs(const char *path)
{
	struct store *store = fixture_open(path, STORE_WRITE);
	fixture_run(store, "north", "A-1", 1, 0.25, NULL);
	store_close(store);
}

/* The report on run 1 as text. */
static void read_report(const char *path, char *text, size_t size)
{
	char command[300], name[260];
	snprintf(name, sizeof(name), "%s.txt", path);
	snprintf(command, sizeof(command), "report 1 -o %s", name);
	assert_int_equal(calls_run(path, command), EXIT_DONE);
	FILE *file = fopen(name, "r");
	assert_non_null(file);
	text[fread(text, 1, size - 1, file)] = '\0';
	fclose(file);
	unlink(name);
}

static void a_method_is_confirmed_once(void **state)
{
	static char report[100000];
	const char *path = *state;
	make_runs(path);
	assert_int_equal(calls_run(path, "show 1 --ascii"), EXIT_DONE);
	calls_say(calls_out, "not confirmed by the laboratory");
	read_report(path, report, sizeof(report));
	calls_say(report, "ASTM C39/C39M (SI), not confirmed by the laboratory");
	assert_int_equal(calls_run(path, "methods astm-c39"), EXIT_DONE);
	calls_say(calls_out, "confirmed   not by the laboratory");
	assert_int_equal(calls_run(path, "methods --confirm astm-c39"), EXIT_CANNOT);
	calls_say(calls_err, "which --edition");
	assert_int_equal(calls_run(path, "methods --confirm yard-9 --edition 1"), EXIT_CANNOT);
	calls_say(calls_err, "there is no method 'yard-9'");
	assert_int_equal(
		calls_run(path, "methods --confirm astm-c39 --edition C39M-21 --note copy-14"),
		EXIT_DONE);
	calls_say(calls_out, "astm-c39 is confirmed against C39M-21");
	assert_int_equal(calls_run(path, "methods astm-c39"), EXIT_DONE);
	calls_say(calls_out, "against C39M-21 by ");
	calls_say(calls_out, ": copy-14");
	assert_int_equal(calls_run(path, "show 1 --ascii"), EXIT_DONE);
	calls_say(calls_out, "confirmed against C39M-21");
	read_report(path, report, sizeof(report));
	calls_say(report, "confirmed against edition");
	assert_null(strstr(report, "not confirmed"));
	/* Not another one. */
	assert_int_equal(calls_run(path, "methods en-12390-3"), EXIT_DONE);
	calls_say(calls_out, "confirmed   not by the laboratory");
	assert_int_equal(calls_run(path, "audit"), EXIT_DONE);
}

/* A file beside the database. */
static const char *write_file(const char *database, const char *name, const char *text)
{
	static char path[300];
	snprintf(path, sizeof(path), "%s.%s", database, name);
	FILE *file = fopen(path, "w");
	assert_non_null(file);
	fputs(text, file);
	assert_int_equal(fclose(file), 0);
	return path;
}

static int register_file(const char *database, const char *text, const char *options)
{
	char line[500];
	const char *path = write_file(database, "csv", text);
	snprintf(line, sizeof(line), "register --csv %s%s", path, options);
	int code = calls_run(database, line);
	unlink(path);
	return code;
}

static struct specimen find(const char *database, const char *id, struct detail *detail)
{
	struct specimen specimen;
	struct store *store = fixture_open(database, STORE_READ);
	assert_int_equal(store_specimen_find(store, id, &specimen), STORE_OK);
	store_detail_find(store, id, detail);
	store_close(store);
	return specimen;
}

static void measured_and_weighed(void **state)
{
	const char *path = *state;
	struct detail detail;
	make_runs(path);
	/* 12.95 kg, 305 mm, 151.5 mm: 2355.35, reported 2360 kg/m3 */
	assert_int_equal(
		calls_run(path, "register B-1 --diameter-mm 151.5,151.25,151.75 --length-mm "
				"304,305,306 --mass-kg 12.95 --age 28d --moist yes --ends "
				"unbonded --pad P7 --hardness 60 --anticipated-mpa 30"),
		EXIT_DONE);
	calls_say(calls_out, "B-1 is registered, 18026.7 mm2, 2360 kg/m3");
	assert_string_equal(calls_err, "");
	struct specimen specimen = find(path, "B-1", &detail);
	assert_int_equal(specimen.width_um[0], 151500);
	assert_int_equal(specimen.length_um, 305000);
	assert_int_equal(detail.width_count, 3);
	assert_int_equal(detail.widths_um[2], 151750);
	assert_int_equal(detail.mass_mg, 12950000);
	/* what the standard asks to be noted is noted, what it forbids is refused */
	assert_int_equal(calls_run(path, "register B-2 --diameter-mm 150.1 --length-mm 300 --moist "
					 "no --ends ground"),
		EXIT_DONE);
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
	for (size_t i = 0; i < sizeof(refused) / sizeof(refused[0]); i++) {
		assert_int_equal(calls_run(path, refused[i][0]), EXIT_CANNOT);
		calls_say(calls_err, refused[i][1]);
	}
	assert_int_equal(calls_run(path, "register B-1 --diameter-mm 151.5 --length-mm 305 "
					 "--mass-kg 13.95 --correct mistyped"),
		EXIT_DONE);
	calls_say(calls_out, "B-1 is corrected, 18026.7 mm2, 2540 kg/m3");
	assert_int_equal(calls_run(path, "audit"), EXIT_DONE);
}

static void beams_and_prisms(void **state)
{
	const char *path = *state;
	struct detail detail;
	make_runs(path);
	assert_int_equal(calls_run(path, "register F-1 --method astm-c78 --beam-mm 150,152 "
					 "--span-mm 450"),
		EXIT_DONE);
	struct specimen specimen = find(path, "F-1", &detail);
	assert_int_equal(specimen.shape, SHAPE_BEAM);
	assert_int_equal(specimen.width_um[1], 152000);
	assert_int_equal(specimen.length_um, 450000);
	assert_int_equal(calls_run(path, "register P-1 --method astm-c1314 --prism-in 7.625,15.625 "
					 "--height-in 15.625 --anticipated-mpa 15"),
		EXIT_DONE);
	specimen = find(path, "P-1", &detail);
	assert_int_equal(specimen.shape, SHAPE_PRISM);
	assert_int_equal(specimen.width_um[0], 193675);
	assert_int_equal(
		calls_run(path, "register F-2 --method astm-c39 --beam-mm 150,150"), EXIT_CANNOT);
	calls_say(calls_err, "cylinder");
}

/* All that was entered is shown, with the fracture as the run's method has it. */
static void shown_whole(void **state)
{
	const char *path = *state;
	struct store *store = fixture_open(path, STORE_WRITE);
	fixture_run(store, "north", "A-1", 1, 0.25, NULL);
	store_close(store);
	assert_int_equal(
		calls_run(path, "register A-1 --set set-A --diameter-mm 100,100.25,100.5 "
				"--length-mm 200,201,202 --anticipated-mpa 3 --correct measured "
				"--cast 2026-01-28T06:13:20Z --age 28d --mass-kg 3.74 --ends "
				"unbonded --pad P7 --hardness 50 --square-deg 0.25 --plane-mm 0.04 "
				"--moist no --lot L3"),
		EXIT_DONE);
	assert_int_equal(calls_run(path, "fracture 1 5 --defects voids,near,the,top --cap-defects "
					 "chipped --note around,the,aggregate"),
		EXIT_DONE);
	assert_int_equal(calls_run(path, "fracture 1 4"), EXIT_DONE);
	assert_int_equal(calls_run(path, "show 1 --ascii"), EXIT_DONE);
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
	check_narrow(calls_out);
}

/* Each family of methods has its own kinds of fracture, and no other. */
static void fractures_by_method(void **state)
{
	const char *path = *state;
	static const struct {
		const char *method, *right;
	} cases[] = {{"astm-c39", "diagonal"}, {"en-12390-3", NULL}, {"astm-c496", NULL},
		{"astm-c109", NULL}, {"astm-c1314", "split from top to bottom"}};
	assert_int_equal(calls_run(path, "fracture --help"), EXIT_DONE);
	calls_say(calls_out, "ASTM C39 and C42");
	calls_say(calls_out, "\n  4  diagonal");
	calls_say(calls_out, "EN 12390-3, IS 516, ASTM C109");
	calls_say(calls_out, "\n  2  unsatisfactory: ");
	calls_say(calls_out, "\n  3  farther outside: no result");
	calls_say(calls_out, "ASTM C496, EN 12390-6");
	check_narrow(calls_out);
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
	make_runs(path);
	assert_int_equal(calls_run_with(path, "register --set S --diameter-mm 100 --length-mm 200",
				 "S-1\r\n  S-2\n\nS-3\n"),
		EXIT_DONE);
	calls_say(calls_out, "S-1 is registered");
	assert_string_equal(find(path, "S-2", &detail).set, "S");
	assert_null(strstr(calls_out, "S-3"));
	assert_int_equal(calls_run_with(path, "seat north", "S-2\n"), EXIT_DONE);
	calls_say(calls_out, "S-2 is the next specimen in north");
	assert_int_equal(calls_run_with(path, "seat north", "S-9\nS-1\n"), EXIT_CANNOT);
	calls_say(calls_err, "S-9 is not registered");
	calls_say(calls_out, "S-1 is the next specimen in north");
	assert_int_equal(calls_run(path, "seat north"), EXIT_CANNOT);
	calls_say(calls_err, "which SPECIMEN?");
}

static void a_file_of_specimens(void **state)
{
	const char *path = *state;
	struct detail detail;
	make_runs(path);
	assert_int_equal(register_file(path,
				 "\xef\xbb\xbfid,diameter_mm,length_mm,cast,age,set\r\n"
				 "C-1,\"100,100.25\",200,2026-11-18T09:30+01:00,28d,C\r\n"
				 "\r\n"
				 "C-2, 100 ,200,,,\r\n",
				 " --set other --moist yes"),
		EXIT_DONE);
	calls_say(calls_out, "2 specimens are registered");
	struct specimen specimen = find(path, "C-1", &detail);
	assert_int_equal(specimen.width_um[1], 100250);
	assert_string_equal(specimen.set, "C");
	assert_int_equal(detail.moist, DETAIL_MOIST_YES);
	assert_string_equal(find(path, "C-2", &detail).set, "other");
	assert_int_equal(register_file(path, "id;diameter-mm\nC-3;100,100.25\n", ""), EXIT_DONE);
	assert_int_equal(find(path, "C-3", &detail).width_um[1], 100250);
}

/* Every error is told with its place, and nothing is written. */
static void errors_of_a_file(void **state)
{
	const char *path = *state;
	struct specimen specimen;
	make_runs(path);
	assert_int_equal(register_file(path,
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
	assert_int_equal(register_file(path, "id,colour\nD-1,red\n", ""), EXIT_CANNOT);
	calls_say(calls_err, "csv:1: colour: no such column");
	assert_int_equal(register_file(path, "diameter_mm\n100\n", ""), EXIT_CANNOT);
	calls_say(calls_err, "csv:1: there is no column id");
	assert_int_equal(register_file(path, "", ""), EXIT_CANNOT);
	calls_say(calls_err, "csv:1: the file is empty");
	assert_int_equal(register_file(path, "id\n", ""), EXIT_CANNOT);
	calls_say(calls_err, "there is no row");
	assert_int_equal(calls_run(path, "register --csv /nowhere/day.csv"), EXIT_CANNOT);
	calls_say(calls_err, "/nowhere/day.csv: No such file");
}

/* Three of eleven are measured, of one lot: the mean counts for all, also for those three. */
static void measured_for_the_lot(void **state)
{
	const char *path = *state;
	struct detail detail;
	char text[600] = "id,lot,diameter_mm,length_mm\n"
			 "R-0,L,\"100,100.25\",200\nR-1,L,100.25,200\nR-2,L,100.5,200\n";
	make_runs(path);
	for (int i = 3; i < 11; i++)
		snprintf(text + strlen(text), 40, "R-%d,L,,200\n", i);
	assert_int_equal(register_file(path, text, ""), EXIT_DONE);
	struct specimen specimen = find(path, "R-7", &detail);
	/* (100.125 + 100.25 + 100.5) / 3 */
	assert_int_equal(specimen.width_um[0], 100292);
	assert_true(detail.reduced);
	assert_int_equal(detail.width_count, 0);
	specimen = find(path, "R-2", &detail);
	assert_int_equal(specimen.width_um[1], 100292);
	assert_int_equal(detail.widths_um[0], 100500);
	/* too few, and too far apart */
	assert_int_equal(
		register_file(path, "id,lot,diameter_mm\nT-0,N,100\nT-1,N,100\nT-2,N,\n", ""),
		EXIT_CANNOT);
	calls_say(calls_err, "csv:4: T-2: of 3 specimens 3 must be measured, not 2");
	assert_int_equal(register_file(path,
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
	make_runs(path);
	/* nothing measured yet, then too few */
	assert_int_equal(calls_run(path, "register R-9 --lot L --length-mm 200"), EXIT_CANNOT);
	calls_say(calls_err,
		"R-9 was not measured, and lot L does not stand for it: of 1 specimens "
		"1 must be measured, not 0");
	for (size_t i = 0; i < 2; i++)
		assert_int_equal(calls_run(path, lines[i]), EXIT_DONE);
	assert_int_equal(calls_run(path, "register R-9 --lot L --length-mm 200"), EXIT_CANNOT);
	calls_say(calls_err, "of 3 specimens 3 must be measured, not 2");
	/* another lot's, and another method's, do not count */
	assert_int_equal(calls_run(path, "register M-1 --lot M --length-mm 200 --diameter-mm 100"),
		EXIT_DONE);
	assert_int_equal(calls_run(path, "register R-9 --lot L --length-mm 200"), EXIT_CANNOT);
	assert_int_equal(
		calls_run(path, "register R-2 --lot L --length-mm 200 --diameter-mm 100.5"),
		EXIT_DONE);
	assert_int_equal(calls_run(path, "register R-3 --lot L --length-mm 200"), EXIT_DONE);
	calls_say(calls_out, "R-3 is registered");
	calls_say(calls_out, "R-0 is corrected");
	/* (100.125 + 100.25 + 100.5) / 3 counts for all of them; what was measured stays */
	assert_int_equal(find(path, "R-3", &detail).width_um[0], 100292);
	assert_int_equal(find(path, "R-0", &detail).width_um[1], 100292);
	assert_true(detail.reduced);
	assert_int_equal(detail.widths_um[1], 100250);
	assert_int_equal(find(path, "M-1", &detail).width_um[0], 100000);
	/* one more that is measured changes the mean of all, also by a file */
	assert_int_equal(register_file(path,
				 "id,lot,diameter_mm,length_mm\nR-4,L,100.4,200\nR-5,L,,200\n", ""),
		EXIT_DONE);
	assert_int_equal(find(path, "R-5", &detail).width_um[0], 100319);
	assert_int_equal(find(path, "R-3", &detail).width_um[0], 100319);
	assert_int_equal(find(path, "R-1", &detail).width_um[0], 100319);
	assert_int_equal(
		calls_run(path, "register R-6 --lot L --length-mm 200 --diameter-mm 100.25"),
		EXIT_DONE);
	assert_int_equal(find(path, "R-6", &detail).width_um[0], 100305);
	assert_int_equal(detail.widths_um[0], 100250);
	assert_int_equal(find(path, "R-5", &detail).width_um[0], 100305);
	/* too far apart: told, and nothing is taken from what was measured */
	assert_int_equal(calls_run(path, "register R-7 --lot L --length-mm 200 --diameter-mm 101"),
		EXIT_DONE);
	calls_say(calls_err, "NOTE: lot L, of which others were not measured: the diameters of the "
			     "lot are 0.88 mm apart, more than 0.50 mm: measure each specimen");
	assert_int_equal(find(path, "R-7", &detail).width_um[0], 101000);
	assert_int_equal(calls_run(path, "register R-8 --lot L --length-mm 200"), EXIT_CANNOT);
	calls_say(calls_err, "0.88 mm apart");
	assert_int_equal(calls_run(path, "audit"), EXIT_DONE);
}

/* Yesterday's do not stand for today's. */
static void a_lot_is_of_one_day(void **state)
{
	const char *path = *state;
	const struct utc_time before = {INT64_C(1772000000) * CLOCKS_NS_PER_S};
	struct detail detail;
	make_runs(path);
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
	assert_int_equal(calls_run(path, "register R-9 --lot L --length-mm 200"), EXIT_CANNOT);
	calls_say(calls_err, "of 1 specimens 1 must be measured, not 0");
}

/* What the tolerance no longer covers is overdue; days are the laboratory's, here UTC. */
static void what_is_due(void **state)
{
	const char *path = *state;
	setenv("TZ", "UTC", 1);
	make_runs(path);
	assert_int_equal(calls_run(path, "due"), EXIT_NO);
	calls_say(calls_err, "nothing is due");
	assert_int_equal(register_file(path,
				 "id,diameter_mm,cast,age\n"
				 "E-1,100,2026-11-01T09:00Z,28d\n"
				 "E-2,100,2026-11-02T06:00+01:00,28d\n"
				 "E-3,100,2026-11-27T22:00Z,3d\n"
				 "E-4,100,2026-11-27T09:00Z,7d\n"
				 "E-5,100,2026-11-27T09:00Z,\n",
				 ""),
		EXIT_DONE);
	/* E-1 was due on the 29th at 9 and could be tested until 5 on the 30th (28 d +- 20 h). */
	assert_int_equal(calls_run(path, "due --at 2026-11-30T04:59Z"), EXIT_DONE);
	calls_say(calls_out, "today  2026-11-28T13:00Z  2026-11-30T05:00Z  28 d  "
			     "E-1");
	assert_null(strstr(calls_out, "OVERDUE"));
	assert_int_equal(calls_run(path, "due --at 2026-11-30T05:01Z"), EXIT_DONE);
	calls_say(calls_out, "OVERDUE  2026-11-28T13:00Z  2026-11-30T05:00Z");
	calls_say(calls_out, "today    2026-11-29T09:00Z  2026-12-01T01:00Z");
	calls_say(calls_out, "today    2026-11-30T20:00Z  2026-12-01T00:00Z   3 d");
	assert_null(strstr(calls_out, "E-4"));
	assert_null(strstr(calls_out, "E-5"));
	assert_int_equal(calls_run(path, "due --all --at 2026-11-30T05:01Z"), EXIT_DONE);
	calls_say(calls_out, "later    2026-12-04T03:00Z");
	assert_int_equal(calls_run(path, "due --at 2026-11-29T12:00Z"), EXIT_DONE);
	calls_say(calls_out, "tomorrow  2026-11-30T20:00Z");
	assert_int_equal(calls_run(path, "due --json --at 2026-11-30T05:01Z"), EXIT_DONE);
	calls_say(calls_out, "\"when\": \"overdue\"");
	assert_int_equal(calls_run(path, "due --ical --at 2026-11-30T05:01Z"), EXIT_DONE);
	calls_say(calls_out, "BEGIN:VCALENDAR\r\n");
	calls_say(calls_out, "UID:specimen-452d34@ramplog\r\nDTSTAMP:20261130T050100Z\r\n"
			     "DTSTART:20261204T030000Z\r\nDTEND:20261204T150000Z\r\n");
	assert_int_equal(calls_run(path, "due --at today"), EXIT_CANNOT);
	calls_say(calls_err, "is no ISO 8601 time");
}

static void fracture(const char *path, const char *line)
{
	assert_int_equal(calls_run(path, line), EXIT_DONE);
}

/* Three companions: one far off is flagged, and counted. */
static void a_set_of_companions(void **state)
{
	const char *path = *state;
	struct store *store = fixture_open(path, STORE_WRITE);
	fixture_run(store, "north", "A-1", 1, 0.25, NULL);
	fixture_run(store, "north", "A-2", 1, 0.25, NULL);
	fixture_run(store, "north", "B-1", 1, 0.25, NULL);
	store_close(store);
	assert_int_equal(calls_run(path, "set nobody"), EXIT_NO);
	assert_int_equal(calls_run(path, "set set-A"), EXIT_NO);
	calls_say(calls_out, "NOT COMPLETE");
	fracture(path, "fracture 1 2");
	fracture(path, "fracture 2 3");
	assert_int_equal(calls_run(path, "set set-A"), EXIT_DONE);
	calls_say(calls_out, "set set-A: 2 of 2 runs count, ASTM C39/C39M (SI)");
	calls_say(calls_out, "0.0 % of the mean;\n          9.0 % is seldom exceeded by 2 of 100 "
			     "mm made in the laboratory");
	calls_say(calls_out, "terms     none entered");
	/* measured again: 95 mm instead of 100 makes it 11 % stronger */
	assert_int_equal(calls_run(path, "register A-2 --set set-A --diameter-mm 95 --length-mm "
					 "200.5 --anticipated-mpa 3 --correct mistyped "
					 "--cast 2026-01-28T06:13:20Z"),
		EXIT_DONE);
	assert_int_equal(calls_run(path, "set set-A"), EXIT_NO);
	calls_say(calls_out, "!! BEYOND it");
	calls_say(calls_out, "[ ] the diameters as typed");
	calls_say(calls_out, "2 of 2 runs count");
	assert_int_equal(calls_run(path, "correct 2 --void --reason dirt"), EXIT_DONE);
	assert_int_equal(calls_run(path, "set set-A"), EXIT_DONE);
	calls_say(calls_out, "voided");
	calls_say(calls_out, "1 of 2 runs count");
	assert_int_equal(calls_run(path, "set set-A --json"), EXIT_DONE);
	calls_say(calls_out, "\"without\": \"voided\"");
}

static void the_terms_of_a_set(void **state)
{
	const char *path = *state;
	static const char *const mistakes[][2] = {
		{"set", "which SET"},
		{"set set-A --rule strict", "there is no rule 'strict'"},
		{"set set-A --rule aci-318", "state it"},
		{"set set-A --specified-mpa 0", "must be a number above zero"},
		{"set --series pier --field", "terms are entered set by set"},
	};
	make_runs(path);
	for (size_t i = 0; i < sizeof(mistakes) / sizeof(mistakes[0]); i++) {
		assert_int_equal(calls_run(path, mistakes[i][0]), EXIT_CANNOT);
		calls_say(calls_err, mistakes[i][1]);
	}
	fracture(path, "fracture 1 2");
	assert_int_equal(calls_run(path, "set set-A --rule en-206-initial --specified-mpa 8 "
					 "--in-series pier"),
		EXIT_DONE);
	calls_say(calls_out, "single    !! NOT MET: at least 4.00 MPa");
	/* what is not given stays */
	assert_int_equal(calls_run(path, "set set-A --field --specified-mpa 2"), EXIT_DONE);
	calls_say(calls_out, "terms     en-206-initial, specified 2.00 MPa, made in the field, "
			     "series pier");
	assert_int_equal(calls_run(path, "audit"), EXIT_DONE);
}

/* EN 206, initial: the mean of three at least 4 MPa above, each at most 4 MPa below. */
static void check_series_json(const char *path)
{
	assert_int_equal(calls_run(path, "set --series pier --json"), EXIT_DONE);
	json_t *object = json_loads(calls_out, 0, NULL);
	assert_non_null(object);
	assert_string_equal(json_string_value(json_object_get(object, "rule")), "en-206-initial");
	assert_int_equal(json_integer_value(json_object_get(object, "tests")), 4);
	assert_true(json_is_false(json_object_get(object, "met")));
	assert_true(json_is_true(json_object_get(object, "few")));
	const json_t *points = json_object_get(object, "points");
	assert_int_equal(json_array_size(points), 4);
	const json_t *second = json_array_get(points, 1), *third = json_array_get(points, 2);
	assert_string_equal(json_string_value(json_object_get(third, "set")), "set-D");
	assert_true(json_is_null(json_object_get(second, "mean_met")));
	assert_true(json_is_null(json_object_get(second, "mean_least_mpa")));
	assert_true(json_is_false(json_object_get(third, "mean_met")));
	assert_true(json_is_true(json_object_get(third, "single_met")));
	check_near(json_real_value(json_object_get(third, "mean_least_mpa")), 6.95, 1e-9);
	check_near(json_real_value(json_object_get(third, "single_least_mpa")), -1.05, 1e-9);
	double sum = 0;
	for (size_t i = 0; i < 3; i++)
		sum += json_real_value(json_object_get(json_array_get(points, i), "mean_mpa"));
	check_near(json_real_value(json_object_get(third, "mean_of_3_mpa")), sum / 3, 1e-9);
	json_decref(object);
}

static void check_series_chart(const char *path)
{
	static char svg[200000];
	char line[300], name[260];
	snprintf(name, sizeof(name), "%s.svg", path);
	snprintf(line, sizeof(line), "set --series pier -o %s", name);
	assert_int_equal(calls_run(path, line), EXIT_DONE);
	FILE *file = fopen(name, "r");
	assert_non_null(file);
	svg[fread(svg, 1, sizeof(svg) - 1, file)] = '\0';
	fclose(file);
	unlink(name);
	calls_say(svg, "Series pier");
	calls_say(svg, ">set-B</text>");
	calls_say(svg, ">2026-01-04</text>");
	calls_say(svg, "set-D: MEAN LOW");
	assert_null(strstr(svg, "set-C: "));
	snprintf(line, sizeof(line), "set --series pier -o %s.txt", path);
	assert_int_equal(calls_run(path, line), EXIT_CANNOT);
	snprintf(line, sizeof(line), "set set-A -o %s.svg", path);
	assert_int_equal(calls_run(path, line), EXIT_CANNOT);
	calls_say(calls_err, "a chart is drawn of a --series");
}

/* Four tests of one concrete by order of casting, not of entering; the third mean is low. */
static void a_series_of_tests(void **state)
{
	const char *path = *state;
	static const char *const casts[] = {"04", "01", "02", "03"};
	static const char *const diameters[] = {"105", "100", "100", "101"};
	struct store *store = fixture_open(path, STORE_WRITE);
	for (int i = 0; i < 4; i++) {
		char id[8];
		snprintf(id, sizeof(id), "%c-1", 'A' + i);
		fixture_run(store, "north", id, 1, 0.25, NULL);
	}
	store_close(store);
	assert_int_equal(calls_run(path, "set --series pier"), EXIT_NO);
	calls_say(calls_err, "has no set with a result yet");
	for (int i = 0; i < 4; i++) {
		char line[300];
		snprintf(line, sizeof(line),
			"register %c-1 --set set-%c --diameter-mm %s --length-mm 200 "
			"--anticipated-mpa 3 --cast 2026-01-%sT06:00Z --correct cast",
			'A' + i, 'A' + i, diameters[i], casts[i]);
		assert_int_equal(calls_run(path, line), EXIT_DONE);
		snprintf(line, sizeof(line),
			"set set-%c --rule en-206-initial --specified-mpa 2.95 --in-series pier",
			'A' + i);
		calls_run(path, line);
	}
	assert_int_equal(calls_run(path, "set --series pier"), EXIT_NO);
	calls_say(calls_out, "series pier: 4 tests in order of sampling, en-206-initial");
	calls_say(calls_out, "MEAN LOW");
	assert_true(strstr(calls_out, "\nset-B") < strstr(calls_out, "\nset-C"));
	assert_true(strstr(calls_out, "\nset-D") < strstr(calls_out, "\nset-A"));
	calls_say(calls_out, "overall   4 tests");
	calls_say(calls_out, "fewer than ten tests");
	check_narrow(calls_out);
	check_series_json(path);
	check_series_chart(path);
	/* other terms do not compare */
	calls_run(path, "set set-A --specified-mpa 4");
	assert_int_equal(calls_run(path, "set --series pier"), EXIT_CANNOT);
	calls_say(calls_err, "have other terms or methods");
}

/* What a scanner reads from the label is the id, twice (read by zbarimg of zbar-tools). */
static void labels(void **state)
{
	const char *path = *state;
	char line[400], read_back[400];
	make_runs(path);
	assert_int_equal(calls_run(path, "register quay-7-1 --diameter-mm 100 --set quay-7 --cast "
					 "2026-11-01T09:00Z --age 28d"),
		EXIT_DONE);
	assert_int_equal(calls_run(path, "label quay-7-9"), EXIT_NO);
	assert_int_equal(calls_run(path, "label quay-7-1"), EXIT_DONE);
	calls_say(calls_out, "quay-7-1\nset quay-7\nASTM C39/C39M (SI)\ncast 2026-11-01T09:00Z\n"
			     "due 2026-11-29T09:00Z (28 d)\n");
	calls_say(calls_out, "\u2588\u2580\u2580\u2580\u2580\u2580\u2588");
	snprintf(line, sizeof(line), "label quay-7-1 -o %s.gif", path);
	assert_int_equal(calls_run(path, line), EXIT_CANNOT);
	snprintf(line, sizeof(line), "label quay-7-1 -o %s.png", path);
	assert_int_equal(calls_run(path, line), EXIT_DONE);
	snprintf(line, sizeof(line), "zbarimg -q %s.png 2>/dev/null", path);
	FILE *pipe = popen(line, "r");
	read_back[fread(read_back, 1, sizeof(read_back) - 1, pipe)] = '\0';
	assert_int_equal(pclose(pipe), 0);
	calls_say(read_back, "QR-Code:quay-7-1\n");
	calls_say(read_back, "CODE-128:quay-7-1\n");
	snprintf(line, sizeof(line), "%s.png", path);
	unlink(line);
}

#define SPECIMEN_TEST(test) cmocka_unit_test_setup_teardown(test, fixture_setup, fixture_teardown)

int main(void)
{
	const struct CMUnitTest tests[] = {
		SPECIMEN_TEST(a_method_is_confirmed_once),
		SPECIMEN_TEST(measured_and_weighed),
		SPECIMEN_TEST(beams_and_prisms),
		SPECIMEN_TEST(shown_whole),
		SPECIMEN_TEST(fractures_by_method),
		SPECIMEN_TEST(scanned_ids),
		SPECIMEN_TEST(a_file_of_specimens),
		SPECIMEN_TEST(errors_of_a_file),
		SPECIMEN_TEST(measured_for_the_lot),
		SPECIMEN_TEST(measured_for_the_lot_in_the_register),
		SPECIMEN_TEST(a_lot_is_of_one_day),
		SPECIMEN_TEST(what_is_due),
		SPECIMEN_TEST(a_set_of_companions),
		SPECIMEN_TEST(the_terms_of_a_set),
		SPECIMEN_TEST(a_series_of_tests),
		SPECIMEN_TEST(labels),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
