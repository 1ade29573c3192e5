/* SPDX-License-Identifier: MIT
 *
 * Reports on stored runs: what stands in them, that all formats say the same, that the same record
 * gives the same bytes. The PDF's text is taken out of it by pdftotext (poppler).
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
#include <unistd.h>

static void says_what_a_report_must(void **state)
{
	const char *database = *state;
	paper_runs(database);
	char *text = paper_text(database, "report set-p");
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
		calls_say(text, wanted[i]);
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

static char *pdf_text(const char *database, const char *name)
{
	char command[PAPER_PATH_SIZE + 60];
	snprintf(command, sizeof(command), "pdftotext '%s' -", paper_beside(database, name));
	return paper_printed(command);
}

static void all_formats_say_the_same(void **state)
{
	const char *database = *state;
	paper_runs(database);
	paper_done(database, "a.txt", "report set-p");
	paper_done(database, "a.pdf", "report set-p");
	paper_done(database, "a.html", "report set-p");
	paper_done(database, "a.svg", "report set-p");
	char *text = paper_read(database, "a.txt", NULL);
	char *pdf = pdf_text(database, "a.pdf");
	char *html = paper_read(database, "a.html", NULL);
	char *svg = paper_read(database, "a.svg", NULL);
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
	char command[PAPER_PATH_SIZE + 200];
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
	paper_done(database, "a.html", "report --set \u041f\u0438\u0440\u0441-7");
	paper_done(database, "a.svg", "report 1");
	paper_done(database, "a.pdf", "report --set \u041f\u0438\u0440\u0441-7");
	if (has("xmllint"))
		assert_int_equal(shell("xmllint --noout '%s'", paper_beside(database, "a.svg")), 0);
	/* It knows no SVG inside of HTML, and says so at each piece. */
	if (has("tidy"))
		assert_int_equal(shell("! tidy -q -e '%s' 2>&1 | grep -vE '<svg>|<style>' | grep .",
					 paper_beside(database, "a.html")),
			0);
	assert_int_equal(shell("pdfinfo '%s' | grep -q '^Title: *Draft, set '",
				 paper_beside(database, "a.pdf")),
		0);
	assert_int_equal(
		shell("pdfinfo '%s' | grep -q '^Pages: *1$'", paper_beside(database, "a.pdf")), 0);
	char *html = paper_read(database, "a.html", NULL), *pdf = pdf_text(database, "a.pdf");
	assert_null(strstr(html, "<script"));
	/* Nothing that is fetched from elsewhere. */
	assert_null(strstr(html, "href="));
	assert_null(strstr(html, "src="));
	calls_say(html, "&lt;script&gt;");
	calls_say(html, "\u5f3a\u5ea6");
	/* Where no font has a character, a page shows its number; these are in every font. */
	calls_say(pdf, "M\u00fchle<3>&\"'");
	calls_say(pdf, "\u041f\u0438\u0440\u0441-7");
	free(html);
	free(pdf);
}

static void text_fits_a_terminal(void **state)
{
	const char *database = *state;
	paper_runs(database);
	char *text = paper_text(database, "report set-p");
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
	char command[PAPER_PATH_SIZE + 100], line[400];
	paper_runs(database);
	paper_done(database, "a.png", "report set-p");
	if (!has("zbarimg"))
		skip();
	snprintf(command, sizeof(command), "zbarimg -q --nodbus --raw '%s'",
		paper_beside(database, "a.png"));
	char *read = paper_printed(command);
	read[strcspn(read, "\n")] = '\0';
	assert_int_equal(strncmp(read, "ramplog run 2 seal ", 19), 0);
	/* calls_run parts words at blanks; any white space is good enough for --seal. */
	for (char *blank; (blank = strchr(read, ' '));)
		*blank = '\t';
	snprintf(line, sizeof(line), "audit --seal %s", read);
	calls_done(database, line);
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
	paper_runs(database);
	for (size_t i = 0; i < sizeof(formats) / sizeof(*formats); i++) {
		char first[20], second[20];
		snprintf(first, sizeof(first), "first.%s", formats[i]);
		snprintf(second, sizeof(second), "second.%s", formats[i]);
		paper_done(database, first, "report 1");
		paper_done(database, second, "report 1");
		paper_same(database, first, second);
	}
}

/* The diameter to the 0.25 mm of ASTM C39, an exact half to the even one: 100.125 is 100.00, not
 * 100.25; and once broken, a specimen that is loaded again is not a companion of itself. */
static void rounded_and_counted_once(void **state)
{
	const char *database = *state;
	paper_runs(database);
	calls_done(database, "correct 2 --specimen pier-A --reason mixed-up");
	char *text = paper_text(database, "report set-p");
	calls_say(text, " 100.00 ");
	assert_null(strstr(text, "100.13"));
	calls_say(text, "strength of pier-A, the only one of 2 that counts");
	calls_say(text, "! pier-A: run 2 does not count for the mean: loaded again after it "
			"broke.");
	free(text);
}

static void a_run_that_was_not_closed(void **state)
{
	const char *database = *state;
	struct store *store = fixture_open(database, STORE_WRITE);
	fixture_run_unclosed(store, "north");
	store_close(store);
	char *text = paper_text(database, "report 1");
	calls_say(text, "! no specimen: run 1 was not closed; it has no outcome.");
	assert_null(strstr(text, "seal of run"));
	free(text);
	paper_done(database, "a.pdf", "report 1");
}

static void nothing_to_report(void **state)
{
	const char *database = *state;
	paper_runs(database);
	assert_int_equal(paper_make(database, "none.pdf", "report nowhere"), EXIT_NO);
	assert_int_equal(paper_make(database, "none.pdf", "report 99"), EXIT_NO);
	assert_int_equal(paper_make(database, "none.doc", "report 1"), EXIT_CANNOT);
	assert_int_equal(access(paper_beside(database, "none.pdf"), F_OK), -1);
	assert_int_equal(access(paper_beside(database, "none.doc"), F_OK), -1);
	/* A folder that is not there: nothing is left lying about. */
	assert_int_equal(paper_make(database, "no/such.pdf", "report 1"), EXIT_CANNOT);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		FIXTURE_TEST(says_what_a_report_must),
		FIXTURE_TEST(all_formats_say_the_same),
		FIXTURE_TEST(formats_are_valid),
		FIXTURE_TEST(text_fits_a_terminal),
		FIXTURE_TEST(qr_code_is_read_back),
		FIXTURE_TEST(same_bytes_each_time),
		FIXTURE_TEST(rounded_and_counted_once),
		FIXTURE_TEST(a_run_that_was_not_closed),
		FIXTURE_TEST(nothing_to_report),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
