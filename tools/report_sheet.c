/* SPDX-License-Identifier: MIT
 *
 * The parts of a report in the order in which they are read: what was tested, by which method, on
 * which press, by whom; the results; the curves; what was not met; how it was decided; how to check
 * all of it against the database.
 *
 * Nothing is left out because it looks bad: every run of the set is in the report, aborted ones
 * too; only broken ones count for the mean.
 */
#include "report_sheet.h"

#include "report_parts.h"
#include "words.h"

#include "base/units.h"
#include "draw/shown.h"
#include "result/age.h"

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* ---- identification */

static void put_times(struct sheet *sheet, const struct report_content *content)
{
	const struct run_record *first = &content->runs[0].record;
	const struct run_record *last = &content->runs[content->count - 1].record;
	char from[CLOCKS_UTC_TEXT_SIZE], to[CLOCKS_UTC_TEXT_SIZE], cast[CLOCKS_UTC_TEXT_SIZE];
	words_minute(first->start.started, from);
	words_minute(last->row.closed ? last->ended : last->start.started, to);
	sheet_field(sheet, "tested", "%s to %s", from, to);
	bool same = first->start.has_specimen && first->start.specimen.cast.ns;
	for (size_t i = 1; i < content->count; i++)
		same = same && content->runs[i].record.start.specimen.cast.ns ==
				       first->start.specimen.cast.ns;
	if (same) {
		words_minute(first->start.specimen.cast, cast);
		sheet_field(sheet, "cast", "%s", cast);
	}
}

static void put_age(struct sheet *sheet, const struct report_content *content)
{
	struct age age = report_age(&content->runs[0]);
	char intended[AGE_TEXT_SIZE], tolerance[AGE_TEXT_SIZE];
	for (size_t i = 1; i < content->count; i++) {
		if (report_age(&content->runs[i]).intended_ns != age.intended_ns)
			return;
	}
	if (age.intended_ns == 0) {
		sheet_field(sheet, "age asked for", "not stated");
		return;
	}
	age_text(age.intended_ns, intended);
	age_text(age.tolerance_ns, tolerance);
	if (age.tolerance_ns > 0)
		sheet_field(sheet, "age asked for", "%s, \302\261 %s by the method", intended,
			tolerance);
	else
		sheet_field(sheet, "age asked for", "%s; the method gives no tolerance", intended);
}

static void put_press(struct sheet *sheet, const struct report_run *run, bool in_inch)
{
	const struct run_start *start = &run->record.start;
	const struct standing *standing = &start->standing;
	const struct shown_unit *unit = shown_unit(SHOWN_LOAD, in_inch);
	char verified[CLOCKS_UTC_TEXT_SIZE], due[CLOCKS_UTC_TEXT_SIZE];
	sheet_field(sheet, "press", "%s", start->press);
	if (!standing->verification) {
		sheet_field(sheet, "verification", "press not verified");
		return;
	}
	words_minute(standing->verified, verified);
	words_minute(standing->due, due);
	sheet_field(sheet, "verification",
		"%s: of %.10s, due %.10s, for %.*f to %.*f %s; no. %" PRId64 "%s%s",
		standing_kind_text(standing->kind), verified, due, unit->places,
		(double)standing->low_un / (double)UNITS_UN_PER_N / unit->si, unit->places,
		(double)standing->high_un / (double)UNITS_UN_PER_N / unit->si, unit->text,
		standing->verification, run->certificate[0] ? ", certificate " : "",
		run->certificate);
}

/* Once for each press, as it stood when the first of its runs began. */
static void put_presses(struct sheet *sheet, const struct report_content *content)
{
	for (size_t i = 0; i < content->count; i++) {
		const char *press = content->runs[i].record.start.press;
		bool seen = false;
		for (size_t j = 0; j < i; j++)
			seen = seen || strcmp(content->runs[j].record.start.press, press) == 0;
		if (!seen)
			put_press(sheet, &content->runs[i], report_inch_pound(content));
	}
}

/* Those who entered what they saw, each once. */
static void put_technicians(struct sheet *sheet, const struct report_content *content)
{
	char buffer[REPORT_LINE_SIZE];
	struct text text;
	text_init(&text, buffer, sizeof(buffer));
	for (size_t i = 0; i < content->count; i++) {
		const struct fracture_row *fracture = &content->runs[i].record.fracture;
		bool seen = !fracture->type;
		for (size_t j = 0; j < i; j++)
			seen = seen || strcmp(content->runs[j].record.fracture.by.name,
					       fracture->by.name) == 0;
		if (!seen)
			text_format(&text, "%s%s", text.length ? ", " : "", fracture->by.name);
	}
	sheet_field(sheet, "technician", "%s", text.length ? buffer : "not entered");
}

static void put_if(struct sheet *sheet, const char *name, const char *value)
{
	if (value)
		sheet_field(sheet, name, "%s", value);
}

static void put_method(struct sheet *sheet, const struct report_content *content)
{
	const struct method *method = report_method(content);
	const struct method_confirmation *confirmation = &content->runs[0].confirmation;
	const char *name = method ? method->standard : content->runs[0].record.start.method;
	char at[CLOCKS_UTC_TEXT_SIZE];
	if (!report_confirmed(content)) {
		sheet_field(sheet, "method", "%s, not confirmed by the laboratory", name);
		return;
	}
	words_minute(confirmation->at, at);
	sheet_field(sheet, "method", "%s, confirmed against edition %s by %s, %.10s", name,
		confirmation->edition, confirmation->by.name, at);
}

static void put_issue(struct sheet *sheet, const struct report_content *content)
{
	const struct report_words *words = content->words;
	char at[CLOCKS_UTC_TEXT_SIZE];
	sheet_field(sheet, "reviewer", "%s", words->reviewer ? words->reviewer : "not reviewed");
	if (!words->number) {
		sheet_field(sheet, "issued", "not issued: a draft");
		return;
	}
	words_minute(words->issued, at);
	sheet_field(sheet, "issued", "%s by %s", at, words->issued_by);
}

/* Ends and caps as they were prepared, in words; "" where nothing was stated. */
static void ends_text(const struct detail *detail, struct text *text)
{
	if (detail->ends == DETAIL_ENDS_UNSTATED)
		return;
	text_format(text, "%s%s", detail_ends_text(detail->ends),
		detail->ends == DETAIL_ENDS_BONDED || detail->ends == DETAIL_ENDS_UNBONDED ? " caps"
											   : "");
	if (detail->pad[0])
		text_format(text, ", pads %s", detail->pad);
	if (detail->pad_hardness)
		text_format(text, ", Shore A %d", detail->pad_hardness);
}

/* One field where all were prepared alike. */
static void put_ends(struct sheet *sheet, const struct report_content *content)
{
	char first[REPORT_LINE_SIZE], other[REPORT_LINE_SIZE];
	struct text text;
	text_init(&text, first, sizeof(first));
	ends_text(&content->runs[0].detail, &text);
	bool same = true;
	for (size_t i = 1; i < content->count && same; i++) {
		text_init(&text, other, sizeof(other));
		ends_text(&content->runs[i].detail, &text);
		same = strcmp(first, other) == 0;
	}
	if (same) {
		sheet_field(sheet, "ends", "%s", first[0] ? first : "not stated");
		return;
	}
	for (size_t i = 0; i < content->count; i++) {
		text_init(&text, other, sizeof(other));
		ends_text(&content->runs[i].detail, &text);
		sheet_field(sheet, "ends", "%s: %s", report_specimen(&content->runs[i]),
			other[0] ? other : "not stated");
	}
}

static void put_identification(struct sheet *sheet, const struct report_content *content)
{
	put_if(sheet, "laboratory", content->words->laboratory);
	put_if(sheet, "customer", content->words->customer);
	sheet_field(sheet, "subject", "%s", content->subject);
	put_method(sheet, content);
	put_times(sheet, content);
	put_age(sheet, content);
	report_put_specification(sheet, content);
	put_ends(sheet, content);
	put_presses(sheet, content);
	put_technicians(sheet, content);
	put_issue(sheet, content);
	sheet_field(sheet, "recorded by", "%s", content->runs[0].record.start.program);
}

/* ---- the whole */

static void put_pictures(struct sheet *sheet, const struct report_content *content)
{
	bool headed = false;
	for (size_t i = 0; i < content->count; i++) {
		if (content->runs[i].curve.count == 0)
			continue;
		if (!headed)
			sheet_heading(sheet, "Curves");
		headed = true;
		sheet_picture(sheet, &content->runs[i].picture);
	}
}

/* What must be seen before any number is. */
static void put_first(struct sheet *sheet, const struct report_content *content)
{
	const struct report_words *words = content->words;
	struct message why;
	size_t not_reportable = 0;
	if (words->replaces)
		sheet_alert(sheet, "Amended report: it replaces report %" PRId64 ", because %s.",
			words->replaces, words->reason ? words->reason : "");
	for (size_t i = 0; i < content->count; i++)
		not_reportable += !report_reportable(&content->runs[i], &why);
	if (not_reportable == content->count)
		sheet_alert(sheet, "NOT REPORTABLE as results of the method: %s.", why.text);
	else if (not_reportable > 0)
		sheet_alert(sheet,
			"NOT REPORTABLE as results of the method: %zu of the %zu runs; which, and "
			"why, stands below.",
			not_reportable, content->count);
}

struct sheet *report_sheet(const struct report_content *content)
{
	const struct report_words *words = content->words;
	const struct method *method = report_method(content);
	char foot[REPORT_LINE_SIZE], mark[48] = "Draft";
	if (words->number)
		snprintf(mark, sizeof(mark), "Report %" PRId64, words->number);
	snprintf(foot, sizeof(foot), "%s%s%s; %s. ramplog %s",
		words->laboratory ? words->laboratory : "", words->laboratory ? ", " : "",
		content->subject, words->number ? mark : "a draft, not issued", RAMPLOG_VERSION);
	struct sheet *sheet = sheet_create(
		method && method->title[0] ? method->title : "Compressive strength of concrete",
		foot, report_inch_pound(content));
	if (!sheet)
		return NULL;
	sheet_mark(sheet, mark);
	snprintf(foot, sizeof(foot), "%s, %s. %s", mark, content->subject, sheet->title);
	sheet_about(sheet, foot);
	put_first(sheet, content);
	put_identification(sheet, content);
	report_put_results(sheet, content);
	put_pictures(sheet, content);
	report_put_findings(sheet, content);
	report_put_rule(sheet, content);
	report_put_proof(sheet, content);
	return sheet;
}
