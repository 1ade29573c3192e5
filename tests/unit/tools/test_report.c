/* SPDX-License-Identifier: MIT
 *
 * Reports on stored runs: what stands in them, that all formats say the same, that the same record
 * gives the same bytes. The PDF's text is taken out of it by pdftotext (poppler).
 */
#include "../check.h"
#include "../draw/pages.h"
#include "../store/fixture.h"
#include "calls.h"
#include "commands.h"
#include "store/method_folder.h"
#include "synthetic.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum { FILE_SIZE_MOST = 1 << 20, PATH_SIZE = 200 };

static char path_of_file[PATH_SIZE];

/* A file of that name beside the database. */
static const char *beside(const char *database, const char *name)
{
	size_t folder = (size_t)(strrchr(database, '/') - database);
	snprintf(path_of_file, sizeof(path_of_file), "%.*s/%s", (int)folder, database, name);
	return path_of_file;
}

static int report(const char *database, const char *name, const char *line)
{
	char command[600];
	snprintf(command, sizeof(command), "%s -o %s", line, beside(database, name));
	return calls_run(database, command);
}

/* The whole file, ended by a NUL; the caller frees it. */
static char *read_all(FILE *file, size_t *count)
{
	char *text = malloc(FILE_SIZE_MOST);
	assert_true(file && text);
	*count = fread(text, 1, FILE_SIZE_MOST - 1, file);
	text[*count] = '\0';
	return text;
}

static char *read_beside(const char *database, const char *name, size_t *count)
{
	FILE *file = fopen(beside(database, name), "rb");
	char *text = read_all(file, count);
	fclose(file);
	return text;
}

static char *pdf_text(const char *database, const char *name)
{
	char command[PATH_SIZE + 60];
	size_t count;
	snprintf(command, sizeof(command), "pdftotext '%s' -", beside(database, name));
	FILE *pipe = popen(command, "r");
	char *text = read_all(pipe, &count);
	assert_int_equal(pclose(pipe), 0);
	return text;
}

/* Two companions of set-p; the second one was loaded much too fast, and has no fracture type. */
static void make_runs(const char *database)
{
	struct store *store = fixture_open(database, STORE_WRITE);
	int64_t run = fixture_run(store, "north", "pier-A", 1, 0.25, NULL);
	fixture_run(store, "north", "pier-B", 1, 0.5, NULL);
	assert_int_equal(store_begin(store), STORE_OK);
	assert_int_equal(store_fracture_add(store, run, 3, "voids near the top", &fixture_actor,
				 (struct utc_time){INT64_C(1772000900) * CLOCKS_NS_PER_S}),
		STORE_OK);
	assert_int_equal(store_commit(store), STORE_OK);
	store_close(store);
}

static void check_contains(const char *text, const char *wanted)
{
	if (!strstr(text, wanted))
		fail_msg("'%s' is not in:\n%s", wanted, text);
}

static void says_what_a_report_must(void **state)
{
	const char *database = *state;
	size_t count;
	make_runs(database);
	assert_int_equal(report(database, "a.txt", "report set-p"), EXIT_DONE);
	char *text = read_beside(database, "a.txt", &count);
	/* Items of ASTM C39's report, from memory: id, widths, area, load, strength, type, age;
	 * date, who did it and who checked, decision rule: ISO/IEC 17025, from memory. */
	static const char *const wanted[] = {"Draft\n", "set set-p", "pier-A", "pier-B", " 100.00 ",
		" 200 ", "28 d", "3.0 MPa  mean of 2, from unrounded strengths", "7874",
		"fracture type 3, columnar", "voids near the top", "technician        mara",
		"not reviewed", "a draft", "not confirmed by the laboratory", "press not verified",
		"! pier-B: Rate out of band", "pier-A: Rate in band",
		"! pier-B: the fracture type is not entered", "age asked for     not stated",
		"NOT REPORTABLE as results of the method: press not verified",
		"within the 9.0 % that", "Decision rule", "ramplog audit 1 2", "seal of run 2"};
	for (size_t i = 0; i < sizeof(wanted) / sizeof(*wanted); i++)
		check_contains(text, wanted[i]);
	free(text);
}

/* Line by line, each word of the text must be in the PDF and in the HTML: nothing got lost on the
 * way to a format. */
static void check_words(const char *text, const char *other, const char *name)
{
	char *copy = strdup(text), *rest = copy;
	for (char *word; (word = strsep(&rest, " \n"));) {
		if (strcmp(word, "!") != 0 && !strstr(other, word))
			fail_msg("'%s' is not in the %s", word, name);
	}
	free(copy);
}

static void all_formats_say_the_same(void **state)
{
	const char *database = *state;
	size_t count;
	make_runs(database);
	assert_int_equal(report(database, "a.txt", "report set-p"), EXIT_DONE);
	assert_int_equal(report(database, "a.pdf", "report set-p"), EXIT_DONE);
	assert_int_equal(report(database, "a.html", "report set-p"), EXIT_DONE);
	assert_int_equal(report(database, "a.svg", "report set-p"), EXIT_DONE);
	char *text = read_beside(database, "a.txt", &count);
	char *pdf = pdf_text(database, "a.pdf");
	char *html = read_beside(database, "a.html", &count);
	char *svg = read_beside(database, "a.svg", &count);
	check_words(text, pdf, "PDF");
	check_words(text, html, "HTML");
	check_words(text, svg, "SVG");
	free(text);
	free(pdf);
	free(html);
	free(svg);
}

/* Whether the machine has that program; where it has not, the check is left out. */
static bool has(const char *program)
{
	char command[100];
	snprintf(command, sizeof(command), "command -v %s >/dev/null 2>&1", program);
	/* NOLINTNEXTLINE: a test, and no word of it comes from outside */
	bool found = system(command) == 0;
	if (!found)
		print_message("%s is not installed: not checked\n", program);
	return found;
}

static int shell(const char *format, const char *path)
{
	char command[PATH_SIZE + 200];
	snprintf(command, sizeof(command), format, path);
	return system(command);
}

/* By programs that were not written for it; with names that are no easy ones. */
static void formats_are_valid(void **state)
{
	const char *database = *state;
	struct synthetic run;
	struct store *store = fixture_open(database, STORE_WRITE);
	synthetic_init(&run);
	run.readings_s = 10;
	run.specimen = "M\u00fchle<3>&\"'\u5f3a\u5ea6-\u0e01\u0e33\u0301";
	run.set = "\u041f\u0438\u0440\u0441-7";
	run.note = "<script>alert(1)</script> & \u202eback";
	synthetic_add(store, &run);
	run.specimen = "\u0628\u062a\u0648\u0646-2";
	run.started_days = 0.1;
	synthetic_add(store, &run);
	store_close(store);
	assert_int_equal(
		report(database, "a.html", "report --set \u041f\u0438\u0440\u0441-7"), EXIT_DONE);
	assert_int_equal(report(database, "a.svg", "report 1"), EXIT_DONE);
	assert_int_equal(
		report(database, "a.pdf", "report --set \u041f\u0438\u0440\u0441-7"), EXIT_DONE);
	if (has("xmllint"))
		assert_int_equal(shell("xmllint --noout '%s'", beside(database, "a.svg")), 0);
	/* It knows no SVG inside of HTML, and says so at each piece. */
	if (has("tidy"))
		assert_int_equal(shell("! tidy -q -e '%s' 2>&1 | grep -vE '<svg>|<style>' | grep .",
					 beside(database, "a.html")),
			0);
	assert_int_equal(
		shell("pdfinfo '%s' | grep -q '^Title: *Draft, set '", beside(database, "a.pdf")),
		0);
	assert_int_equal(
		shell("pdfinfo '%s' | grep -q '^Pages: *1$'", beside(database, "a.pdf")), 0);
	size_t count;
	char *html = read_beside(database, "a.html", &count), *pdf = pdf_text(database, "a.pdf");
	assert_null(strstr(html, "<script"));
	/* Nothing that is fetched from elsewhere. */
	assert_null(strstr(html, "href="));
	assert_null(strstr(html, "src="));
	check_contains(html, "&lt;script&gt;");
	check_contains(html, "\u5f3a\u5ea6");
	/* Where no font has a character, a page shows its number; these are in every font. */
	check_contains(pdf, "M\u00fchle<3>&\"'");
	check_contains(pdf, "\u041f\u0438\u0440\u0441-7");
	free(html);
	free(pdf);
}

static void text_fits_a_terminal(void **state)
{
	const char *database = *state;
	size_t count;
	make_runs(database);
	assert_int_equal(report(database, "a.txt", "report set-p"), EXIT_DONE);
	char *text = read_beside(database, "a.txt", &count);
	for (char *line = text; line; line = strchr(line, '\n') ? strchr(line, '\n') + 1 : NULL) {
		size_t width = 0;
		for (const char *c = line; *c && *c != '\n'; c++)
			width += ((unsigned char)*c & 0xc0) != 0x80;
		if (width > 78)
			fail_msg("%zu columns: %.*s", width, (int)strcspn(line, "\n"), line);
	}
	free(text);
}

/* Read from the page by a program that knows nothing of us, and held against the database. */
static void qr_code_is_read_back(void **state)
{
	const char *database = *state;
	char command[PATH_SIZE + 100], line[400];
	size_t count;
	make_runs(database);
	assert_int_equal(report(database, "a.png", "report set-p"), EXIT_DONE);
	if (!has("zbarimg"))
		skip();
	snprintf(command, sizeof(command), "zbarimg -q --nodbus --raw '%s'",
		beside(database, "a.png"));
	FILE *pipe = popen(command, "r");
	char *read = read_all(pipe, &count);
	assert_int_equal(pclose(pipe), 0);
	read[strcspn(read, "\n")] = '\0';
	assert_int_equal(strncmp(read, "ramplog run 2 seal ", 19), 0);
	/* calls_run parts words at blanks; any white space is good enough for --seal. */
	for (char *blank; (blank = strchr(read, ' '));)
		*blank = '\t';
	snprintf(line, sizeof(line), "audit --seal %s", read);
	assert_int_equal(calls_run(database, line), EXIT_DONE);
	calls_say(calls_out, "seal and key of run 2 are those of the database");
	calls_say(calls_out, "all runs re-derived, all seals intact: 1 run");
	/* Another run's seal, another seal, another key, no seal at all. */
	char *number = strstr(line, "run\t2"), *seal = strstr(line, "seal\t"),
	     *key = strstr(line, "key\t");
	number[4] = '1';
	assert_int_equal(calls_run(database, line), EXIT_NO);
	number[4] = '9';
	assert_int_equal(calls_run(database, line), EXIT_NO);
	number[4] = '2';
	seal[5] = seal[5] == '0' ? '1' : '0';
	assert_int_equal(calls_run(database, line), EXIT_NO);
	calls_say(calls_out, "the seal is not that of the database");
	memcpy(seal + 5, strstr(read, "seal\t") + 5, 64);
	key[4] = key[4] == '0' ? '1' : '0';
	assert_int_equal(calls_run(database, line), EXIT_NO);
	calls_say(calls_out, "the key is not that of the database");
	memcpy(key, "kez", 3);
	assert_int_equal(calls_run(database, line), EXIT_CANNOT);
	free(read);
}

static void same_bytes_each_time(void **state)
{
	static const char *const formats[] = {"pdf", "svg", "png", "html", "txt"};
	const char *database = *state;
	make_runs(database);
	for (size_t i = 0; i < sizeof(formats) / sizeof(*formats); i++) {
		char first[20], second[20];
		size_t first_count, second_count;
		snprintf(first, sizeof(first), "first.%s", formats[i]);
		snprintf(second, sizeof(second), "second.%s", formats[i]);
		assert_int_equal(report(database, first, "report 1"), EXIT_DONE);
		assert_int_equal(report(database, second, "report 1"), EXIT_DONE);
		char *a = read_beside(database, first, &first_count);
		char *b = read_beside(database, second, &second_count);
		assert_int_equal(first_count, second_count);
		assert_memory_equal(a, b, first_count);
		free(a);
		free(b);
	}
}

/* One after the other; each is on record, and the file is known again. */
static void amended_and_issued(void **state)
{
	const char *database = *state;
	char line[300];
	size_t count;
	make_runs(database);
	assert_int_equal(report(database, "a.txt",
				 "report set-p --issue --reviewer Ines --laboratory Kaiwerk"),
		EXIT_DONE);
	calls_say(calls_out, "report 1 on set set-p is issued");
	char *text = read_beside(database, "a.txt", &count);
	check_contains(text, "Report 1\n");
	check_contains(text, "reviewer          Ines");
	check_contains(text, "Kaiwerk, set set-p; Report 1.");
	assert_null(strstr(text, "raft"));
	free(text);
	snprintf(line, sizeof(line), "report --check %s", beside(database, "a.txt"));
	assert_int_equal(calls_run(database, line), EXIT_DONE);
	calls_say(calls_out, "is report 1 on set set-p, as issued 20");
	calls_say(calls_out, "none replaces it");
	/* Again: not without a reason, and not for nothing. */
	assert_int_equal(report(database, "b.txt", "report set-p --issue"), EXIT_CANNOT);
	calls_say(calls_err, "was reported as report 1 of");
	assert_int_equal(access(beside(database, "b.txt"), F_OK), -1);
	assert_int_equal(
		report(database, "b.txt", "report 1 --issue --because mistyped"), EXIT_CANNOT);
	calls_say(calls_err, "was not reported before");
	assert_int_equal(report(database, "b.txt", "report 1 --because mistyped"), EXIT_CANNOT);
	assert_int_equal(
		report(database, "b.txt", "report set-p --issue --because mistyped"), EXIT_DONE);
	text = read_beside(database, "b.txt", &count);
	check_contains(text, "! Amended report: it replaces report 1, because mistyped.");
	free(text);
	assert_int_equal(calls_run(database, line), EXIT_NO);
	calls_say(calls_out, "report 2 REPLACES it");
	/* What was replaced is replaced once. */
	assert_int_equal(
		report(database, "c.txt", "report 1 --issue --amends 1 --because no"), EXIT_CANNOT);
	calls_say(calls_err, "replaced by report 2 already");
	assert_int_equal(
		report(database, "c.txt", "report 1 --issue --amends 2 --because one"), EXIT_DONE);
	assert_int_equal(calls_run(database, "report --list"), EXIT_DONE);
	calls_say(calls_out, "mistyped");
	assert_int_equal(calls_run(database, "audit"), EXIT_DONE);
	snprintf(line, sizeof(line), "report --check %s", database);
	assert_int_equal(calls_run(database, line), EXIT_NO);
}

/* The file of an issued report can be made again, as long as nothing that is on it was put right.
 */
static void issued_and_made_again(void **state)
{
	const struct utc_time later = {INT64_C(1772001000) * CLOCKS_NS_PER_S};
	const char *database = *state;
	size_t first_count, second_count;
	make_runs(database);
	assert_int_equal(report(database, "a.pdf", "report set-p --issue"), EXIT_DONE);
	/* A later run of the set was not on it. */
	struct store *store = fixture_open(database, STORE_WRITE);
	fixture_run(store, "north", "pier-C", 1, 0.25, NULL);
	store_close(store);
	assert_int_equal(report(database, "b.pdf", "report --again 1"), EXIT_DONE);
	char *a = read_beside(database, "a.pdf", &first_count);
	char *b = read_beside(database, "b.pdf", &second_count);
	assert_int_equal(first_count, second_count);
	assert_memory_equal(a, b, first_count);
	free(a);
	free(b);
	assert_int_equal(report(database, "b.html", "report --again 1"), EXIT_DONE);
	assert_int_equal(report(database, "c.pdf", "report --again 9"), EXIT_NO);
	store = fixture_open(database, STORE_WRITE);
	assert_int_equal(store_begin(store), STORE_OK);
	assert_int_equal(
		store_run_void(store, 2, true, "wrong cap", &fixture_actor, later), STORE_OK);
	assert_int_equal(store_commit(store), STORE_OK);
	store_close(store);
	assert_int_equal(report(database, "c.pdf", "report --again 1"), EXIT_NO);
	calls_say(calls_err, "does not come out as it was issued");
	assert_int_equal(access(beside(database, "c.pdf"), F_OK), -1);
}

/* Corrected data hold, what was before is said; a run that does not count is out of the mean. */
static void corrections_hold_and_are_said(void **state)
{
	const struct utc_time later = {INT64_C(1772001000) * CLOCKS_NS_PER_S};
	const char *database = *state;
	struct specimen specimen;
	size_t count;
	make_runs(database);
	struct store *store = fixture_open(database, STORE_WRITE);
	fixture_run(store, "north", "pier-C", 1, 0.25, NULL);
	fixture_specimen(&specimen, "pier-A");
	specimen.width_um[0] = specimen.width_um[1] = 102000;
	assert_int_equal(store_begin(store), STORE_OK);
	assert_int_equal(
		store_specimen_correct(store, &specimen, "mistyped widths", &fixture_actor, later),
		STORE_OK);
	assert_int_equal(
		store_run_void(store, 2, true, "wrong cap", &fixture_actor, later), STORE_OK);
	assert_int_equal(store_commit(store), STORE_OK);
	store_close(store);
	assert_int_equal(report(database, "a.txt", "report set-p"), EXIT_DONE);
	char *text = read_beside(database, "a.txt", &count);
	check_contains(text, "102.00");
	check_contains(text, "  before:");
	check_contains(text, "! pier-A: run 1 was judged again with corrected data, by mara,");
	check_contains(text, "mistyped widths.");
	check_contains(text, "! pier-B: run 2 does not count, by mara,");
	check_contains(text, "mean of 2, from unrounded strengths");
	check_contains(text, "pier-B *");
	/* 3 MPa on 100.125 mm, measured on 102 mm: 2.89 MPa. */
	check_contains(text, "2.9 MPa  mean of 2");
	check_contains(text, "public key 1");
	free(text);
	assert_int_equal(report(database, "a.pdf", "report set-p"), EXIT_DONE);
}

/* Four tests of one concrete, a day apart. ACI 318-19 26.12.3.1 with the tests 3950, 4100, 4050 and
 * 3800 psi for 4000 psi (as a published example has them; their running means are 4033.3 and
 * 3983.3, the second of which fails). Here in MPa, 3950 psi being 27.23. */
static void make_pours(const char *database)
{
	static const double tests_mpa[] = {27.234, 28.269, 27.924, 26.200};
	struct store *store = fixture_open(database, STORE_WRITE);
	for (int i = 0; i < 12; i++) {
		char set[] = "pour-0", name[] = "p-0-0";
		struct synthetic run;
		synthetic_init(&run);
		set[5] = name[2] = (char)('1' + i / 3);
		name[4] = (char)('1' + i % 3);
		run.specimen = name;
		run.set = set;
		run.readings_s = 10;
		run.strength_mpa = tests_mpa[i / 3] / 0.999; /* where it breaks */
		run.hunting_mpa = 0;
		run.started_days = i / 3 + 0.1 * (i % 3);
		synthetic_add(store, &run);
	}
	store_close(store);
}

/* The report on a set says that, and not this (NULL: whatever else). */
static void check_report(
	const char *database, const char *set, const char *wanted, const char * not )
{
	char line[100];
	size_t count;
	snprintf(line, sizeof(line), "report %s", set);
	assert_int_equal(report(database, "a.txt", line), EXIT_DONE);
	char *text = read_beside(database, "a.txt", &count);
	check_contains(text, wanted);
	if (not &&strstr(text, not ))
		fail_msg("'%s' is in:\n%s", not, text);
	free(text);
}

static void acceptance_is_said(void **state)
{
	const char *database = *state;
	char line[100];
	make_pours(database);
	check_report(database, "pour-1", "specification     not stated: no acceptance is judged",
		"ACI 318");
	for (int i = 0; i < 4; i++) {
		snprintf(line, sizeof(line), "set pour-%d --rule aci-318 --specified-mpa 27.579%s",
			i + 1, i == 3 ? "" : " --in-series pour");
		calls_run(database, line);
	}
	check_report(database, "pour-2", "ACI 318, specified strength 27.58 MPa, series pour",
		"NOT MET");
	check_report(database, "pour-2", "is at least the 24.08 MPa asked for", NULL);
	check_report(database, "pour-2", "is not judged yet: series pour has too", NULL);
	check_report(database, "pour-4", "the set was entered for", NULL);
	calls_run(database, "set pour-4 --in-series pour");
	check_report(database, "pour-3",
		"ACI 318: the mean of the last tests of the series up to this one", "NOT MET");
	check_report(database, "pour-4",
		"! ACI 318 NOT MET: the mean of the last tests of the series up to this one,",
		NULL);
	check_report(database, "pour-4", "ACI 318: this test, 26.", NULL);
	/* Other terms in the series make no mean; too few make no test. */
	calls_run(database, "correct 1 --void --reason dirt");
	check_report(database, "pour-1",
		"! No strength test: ACI 318 has at least three cylinders of 100 mm", NULL);
	calls_run(database, "set pour-1 --specified-mpa 30");
	check_report(database, "pour-3",
		"! The mean of several tests was not judged: the sets of series pour", NULL);
	calls_run(database, "set pour-3 --specified-mpa 40");
	check_report(database, "pour-3", "! ACI 318 NOT MET: this test, 27.", NULL);
}

/* A run of the set that came later changes nothing on a report that was issued. */
static void acceptance_stays_as_issued(void **state)
{
	const char *database = *state;
	struct synthetic run;
	make_pours(database);
	calls_run(database, "set pour-4 --rule aci-318 --specified-mpa 27.579 --in-series pour");
	assert_int_equal(report(database, "d.pdf", "report pour-4 --issue"), EXIT_DONE);
	struct store *store = fixture_open(database, STORE_WRITE);
	synthetic_init(&run);
	run.specimen = "p-4-4";
	run.set = "pour-4";
	run.started_days = 9;
	run.readings_s = 10;
	synthetic_add(store, &run);
	store_close(store);
	assert_int_equal(report(database, "e.pdf", "report --again 1"), EXIT_DONE);
}

/* A beam of 150 mm by 150 mm on 450 mm: in the middle third, up to 5 % of the span beside it, and
 * farther out (ASTM C78, from memory). */
static void beams_by_where_they_cracked(void **state)
{
	static const struct {
		int fracture;
		double crack_mm;
	} cracks[] = {{1, 0}, {2, 140}, {3, 120}};
	const char *database = *state;
	size_t count;
	struct store *store = fixture_open(database, STORE_WRITE);
	for (int i = 0; i < 3; i++) {
		struct synthetic run;
		char name[] = "beam-0";
		synthetic_init(&run);
		name[5] = (char)('1' + i);
		run = (struct synthetic){.press = "north",
			.specimen = name,
			.set = "beams",
			.method = "astm-c78",
			.technician = "mara",
			.fracture = cracks[i].fracture,
			.crack_mm = cracks[i].crack_mm,
			.note = "",
			.shape = SHAPE_BEAM,
			.faces_mm = {150, 150.4},
			.length_mm = 450,
			.strength_mpa = 4.5,
			.anticipated_mpa = 4.5,
			.approach_mpa_s = 0.05,
			.rate_mpa_s = 0.0175,
			.age_days = 28,
			.readings_s = 10,
			.seed = 7};
		run.started_days = i;
		synthetic_add(store, &run);
	}
	store_close(store);
	assert_int_equal(report(database, "a.txt", "report beams"), EXIT_DONE);
	char *text = read_beside(database, "a.txt", &count);
	check_contains(text, "Flexural strength of concrete");
	/* measured to 1 mm */
	check_contains(text, "150 \303\227 150");
	check_contains(text,
		"! beam-2: the crack began 140.0 mm from the nearer support, 2.2 % of the "
		"span\n  outside the middle third: strength by 3Pa/(bd\302\262)");
	/* 3 x 140 / 450 of 4.50 is 4.20; the mean of the two: 4.35 */
	check_contains(text, "be 4.50 MPa.");
	check_contains(text, "4.35 MPa  mean of 2");
	check_contains(text, "beam-3 *");
	check_contains(text, "! beam-3: fracture type 3 gives no result by the method");
	free(text);
}

/* Entered as a technician does: what does not agree is refused with where the limits are; entered
 * again, the last one holds. */
static void a_crack_is_entered(void **state)
{
	static const char *const refused[][2] = {
		{"fracture 1 2", "type 2 needs the distance of the crack from the nearer support"},
		{"fracture 1 1 --crack-mm 140",
			"does not agree with a crack at 140.0 mm: the middle "
			"third begins at 150.0 mm, and 127.5 mm is the "
			"least with a result"},
		{"fracture 1 2 --crack-mm 120", "does not agree with a crack at 120.0 mm"},
		{"fracture 1 2 --crack-mm 240", "more than half of the span of 450.0 mm"},
		{"fracture 1 4", "has no fracture type 4"},
		{"fracture 1 2 --crack-mm near", "'near' is no distance from a support"},
		{"fracture 1 2 --crack-mm -3", "'-3' is no distance from a support"},
		{"fracture 2 1 --crack-mm 50", "is for beams, not for ASTM C39"},
	};
	const char *database = *state;
	struct synthetic run = {.press = "north",
		.specimen = "beam-1",
		.set = "beams",
		.method = "astm-c78",
		.note = "",
		.shape = SHAPE_BEAM,
		.faces_mm = {150, 150},
		.length_mm = 450,
		.strength_mpa = 4.5,
		.anticipated_mpa = 4.5,
		.approach_mpa_s = 0.05,
		.rate_mpa_s = 0.0175,
		.readings_s = 10,
		.seed = 7};
	struct store *store = fixture_open(database, STORE_WRITE);
	synthetic_add(store, &run);
	synthetic_init(&run);
	run.technician = NULL;
	run.readings_s = 10;
	synthetic_add(store, &run);
	store_close(store);
	for (size_t i = 0; i < sizeof(refused) / sizeof(*refused); i++) {
		assert_int_equal(calls_run(database, refused[i][0]), EXIT_CANNOT);
		calls_say(calls_err, refused[i][1]);
	}
	/* 5.6 in are 142.24 mm; 3 x 142.24 / 450 of 4.50 is 4.27, reported 4.25. */
	assert_int_equal(calls_run(database, "fracture 1 2 --crack-in 5.6"), EXIT_DONE);
	calls_say(calls_out, "run 1: fracture type 2, the crack begins outside the middle third");
	assert_int_equal(calls_run(database, "set beams"), EXIT_DONE);
	calls_say(calls_out, "mean      4.25 MPa");
	check_report(database, "beams", "the crack began 142.2 mm from the nearer support", NULL);
	assert_int_equal(calls_run(database, "show 1 --ascii"), EXIT_DONE);
	calls_say(calls_out, "by the fracture     4.25 MPa");
	calls_say(calls_out, "crack from support  142.24 mm");
	assert_int_equal(calls_run(database, "fracture 1 3 --crack-mm 120"), EXIT_DONE);
	calls_say(calls_out, "such a fracture gives no result");
	check_report(database, "beams", "! beam-1: the fracture was entered again", NULL);
	assert_int_equal(calls_run(database, "show 1 --ascii"), EXIT_DONE);
	calls_say(calls_out, "by the fracture     no result");
}

/* The diameter to the 0.25 mm of ASTM C39, an exact half to the even one: 100.125 is 100.00, not
 * 100.25; and once broken, a specimen that is loaded again is not a companion of itself. */
static void rounded_and_counted_once(void **state)
{
	const char *database = *state;
	size_t count;
	make_runs(database);
	assert_int_equal(
		calls_run(database, "correct 2 --specimen pier-A --reason mixed-up"), EXIT_DONE);
	assert_int_equal(report(database, "a.txt", "report set-p"), EXIT_DONE);
	char *text = read_beside(database, "a.txt", &count);
	check_contains(text, " 100.00 ");
	assert_null(strstr(text, "100.13"));
	check_contains(text, "strength of pier-A, the only one of 2 that counts");
	check_contains(text, "! pier-A: run 2 does not count for the mean: loaded again after it "
			     "broke.");
	free(text);
}

static void a_run_that_was_not_closed(void **state)
{
	const char *database = *state;
	size_t count;
	struct store *store = fixture_open(database, STORE_WRITE);
	fixture_run_unclosed(store, "north");
	store_close(store);
	assert_int_equal(report(database, "a.txt", "report 1"), EXIT_DONE);
	char *text = read_beside(database, "a.txt", &count);
	check_contains(text, "! no specimen: run 1 was not closed; it has no outcome.");
	assert_null(strstr(text, "seal of run"));
	free(text);
	assert_int_equal(report(database, "a.pdf", "report 1"), EXIT_DONE);
}

static void nothing_to_report(void **state)
{
	const char *database = *state;
	make_runs(database);
	assert_int_equal(report(database, "none.pdf", "report nowhere"), EXIT_NO);
	assert_int_equal(report(database, "none.pdf", "report 99"), EXIT_NO);
	assert_int_equal(report(database, "none.doc", "report 1"), EXIT_CANNOT);
	assert_int_equal(access(beside(database, "none.pdf"), F_OK), -1);
	assert_int_equal(access(beside(database, "none.doc"), F_OK), -1);
	/* A folder that is not there: nothing is left lying about. */
	assert_int_equal(report(database, "no/such.pdf", "report 1"), EXIT_CANNOT);
}

static void trend_on_a_page(void **state)
{
	const char *database = *state;
	size_t count;
	make_runs(database);
	assert_int_equal(report(database, "t.svg", "trend --by technician"), EXIT_DONE);
	char *svg = read_beside(database, "t.svg", &count);
	check_contains(svg, "Stress rates by technician");
	check_contains(svg, ">mara</text>");
	check_contains(svg, "not entered: half of the runs go above the band");
	free(svg);
	assert_int_equal(report(database, "t.svg", "trend --press nowhere"), EXIT_NO);
	assert_int_equal(report(database, "t.txt", "trend"), EXIT_CANNOT);
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
		assert_int_equal(calls_run(database, lines[i]), EXIT_DONE);
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
	assert_int_equal(report(database, "t.svg", "trend"), EXIT_DONE);
	size_t count;
	char *svg = read_beside(database, "t.svg", &count);
	check_contains(svg, "jo: half of the runs overshoot");
	check_contains(svg, "south: the rate creeps up");
	free(svg);
}

static void complain(void *context, const char *why)
{
	(void)context;
	fail_msg("%s", why);
}

/* A clause is printed only where the method's file is sure of every value (else it may name none)
 * and the laboratory confirmed it. */
static void clauses_are_printed_when_sure(void **state)
{
	static const char file[] =
		"[method]\nname = yard-1\nstandard = Yard 1\nunits = SI\n"
		"[specimen]\nshapes = cylinder\n"
		"[rate]\nunit = MPa/s\nband = 0.2 to 0.3\nfrom = 50 %\nbasis = anticipated\n"
		"to = 90 %\nwindow = 5 s\n[strength]\nreport = 0.1 MPa\n"
		"[clause]\nclause = rate : 8.5\nclause = report : 10\n";
	const char *database = *state;
	char folder[PATH_SIZE];
	struct synthetic run;
	snprintf(
		folder, sizeof(folder), "%.*s", (int)(strrchr(database, '/') - database), database);
	FILE *out = fopen(beside(database, "yard-1.ini"), "w");
	assert_non_null(out);
	fputs(file, out);
	assert_int_equal(fclose(out), 0);
	assert_int_equal(method_folder_load(folder, complain, NULL), 0);
	setenv("RAMPLOG_METHODS", folder, 1);
	struct store *store = fixture_open(database, STORE_WRITE);
	synthetic_init(&run);
	run.readings_s = 10;
	run.set = "yard";
	run.method = "yard-1";
	synthetic_add(store, &run);
	run.specimen = "A-2";
	run.set = "old";
	run.method = "astm-c39";
	synthetic_add(store, &run);
	store_close(store);
	check_report(database, "yard", "Yard 1, not confirmed", "(clause");
	assert_int_equal(calls_run(database, "methods --confirm yard-1 --edition 1"), EXIT_DONE);
	check_report(database, "yard", "Verdict, and what was not met (clause 8.5)", NULL);
	check_report(database, "yard", "Results (clause 10)", "Decision rule (clause");
	assert_int_equal(calls_run(database, "methods --confirm astm-c39 --edition 21"), EXIT_DONE);
	check_report(database, "old", "confirmed against edition 21", "(clause");
	unsetenv("RAMPLOG_METHODS");
	unlink(beside(database, "yard-1.ini"));
}

#define IN_FOLDER(test) cmocka_unit_test_setup_teardown(test, fixture_setup, fixture_teardown)

int main(void)
{
	const struct CMUnitTest tests[] = {
		IN_FOLDER(says_what_a_report_must),
		IN_FOLDER(all_formats_say_the_same),
		IN_FOLDER(formats_are_valid),
		IN_FOLDER(text_fits_a_terminal),
		IN_FOLDER(qr_code_is_read_back),
		IN_FOLDER(same_bytes_each_time),
		IN_FOLDER(amended_and_issued),
		IN_FOLDER(issued_and_made_again),
		IN_FOLDER(corrections_hold_and_are_said),
		IN_FOLDER(acceptance_is_said),
		IN_FOLDER(acceptance_stays_as_issued),
		IN_FOLDER(beams_by_where_they_cracked),
		IN_FOLDER(a_crack_is_entered),
		IN_FOLDER(rounded_and_counted_once),
		IN_FOLDER(a_run_that_was_not_closed),
		IN_FOLDER(nothing_to_report),
		IN_FOLDER(trend_on_a_page),
		IN_FOLDER(habits_are_named),
		IN_FOLDER(clauses_are_printed_when_sure),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
