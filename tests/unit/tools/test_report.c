/* SPDX-License-Identifier: MIT
 *
 * Reports on stored runs: what stands in them, that all formats say the same, that the same record
 * gives the same bytes. The PDF's text is taken out of it by pdftotext (poppler).
 */
#include "../check.h"
#include "../draw/pages.h"
#include "../store/fixture.h"
#include "commands.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum { ARGUMENTS_MAX = 16, FILE_SIZE_MOST = 1 << 20, PATH_SIZE = 200 };

static char path_of_file[PATH_SIZE];

/* A file of that name beside the database. */
static const char *beside(const char *database, const char *name)
{
	size_t folder = (size_t)(strrchr(database, '/') - database);
	snprintf(path_of_file, sizeof(path_of_file), "%.*s/%s", (int)folder, database, name);
	return path_of_file;
}

static int run_main(
	int (*command)(int, char **), const char *database, const char *name, const char *line)
{
	char copy[400], *rest = copy, *words[ARGUMENTS_MAX + 1] = {NULL};
	int count = 0;
	snprintf(copy, sizeof(copy), "%s --database %s -o %s", line, database,
		beside(database, name));
	while (count < ARGUMENTS_MAX && rest)
		words[count++] = strsep(&rest, " ");
	assert_null(rest);
	return command(count, words);
}

static int report(const char *database, const char *name, const char *line)
{
	return run_main(report_main, database, name, line);
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
	static const char *const wanted[] = {"set set-p", "pier-A", "pier-B", "100.00 / 100.25",
		"200.50", "28.0 d", "MPa", "fracture type 3, columnar", "voids near the top",
		"technician        mara", "not reviewed", "a draft",
		"not confirmed by the laboratory", "press not verified",
		"! pier-B: Rate out of band", "pier-A: Rate in band",
		"! pier-B: the fracture type is not entered", "from 2 unrounded strengths",
		"Decision rule", "ramplog audit 1 2", "seal of run 2"};
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

static void amended_and_issued(void **state)
{
	const char *database = *state;
	size_t count;
	make_runs(database);
	assert_int_equal(
		report(database, "a.txt",
			"report 1 --issued 2026-03-01 --reviewer Ines --laboratory Kaiwerk "
			"--replaces K-17 --because mistyped"),
		EXIT_DONE);
	char *text = read_beside(database, "a.txt", &count);
	check_contains(text, "! Amended report: it replaces K-17, because mistyped.");
	check_contains(text, "reviewer          Ines");
	check_contains(text, "issued            2026-03-01");
	check_contains(text, "Kaiwerk, run 1; 2026-03-01.");
	assert_null(strstr(text, "draft"));
	free(text);
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
	check_contains(text, "102.00 / 102.00");
	check_contains(text, "! pier-A: run 1 was judged again with corrected data, by mara,");
	check_contains(text, "mistyped widths.");
	check_contains(text, "pier-A: before the correction run 1 was of pier-A, 3.0 MPa.");
	check_contains(text, "! pier-B: run 2 does not count, by mara,");
	check_contains(text, "from 2 unrounded strengths");
	/* 3 MPa on 100.125 mm, measured on 102 mm: 2.89 MPa. */
	check_contains(text, "2.9 MPa");
	check_contains(text, "public key 1");
	free(text);
	assert_int_equal(report(database, "a.pdf", "report set-p"), EXIT_DONE);
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
	assert_int_equal(
		run_main(trend_main, database, "t.svg", "trend --by technician"), EXIT_DONE);
	char *svg = read_beside(database, "t.svg", &count);
	check_contains(svg, "Stress rates by technician");
	check_contains(svg, ">mara</text>");
	check_contains(svg, "not entered: half of the runs go above the band");
	free(svg);
	assert_int_equal(run_main(trend_main, database, "t.svg", "trend --press nowhere"), EXIT_NO);
	assert_int_equal(run_main(trend_main, database, "t.txt", "trend"), EXIT_CANNOT);
}

#define IN_FOLDER(test) cmocka_unit_test_setup_teardown(test, fixture_setup, fixture_teardown)

int main(void)
{
	const struct CMUnitTest tests[] = {
		IN_FOLDER(says_what_a_report_must),
		IN_FOLDER(all_formats_say_the_same),
		IN_FOLDER(same_bytes_each_time),
		IN_FOLDER(amended_and_issued),
		IN_FOLDER(corrections_hold_and_are_said),
		IN_FOLDER(a_run_that_was_not_closed),
		IN_FOLDER(nothing_to_report),
		IN_FOLDER(trend_on_a_page),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
