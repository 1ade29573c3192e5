/* SPDX-License-Identifier: MIT
 *
 * The verdict in words, and all that was not met: nothing that a reader would want to have been
 * told is left to be found.
 */
#include "report_parts.h"
#include "report_say.h"
#include "words.h"

#include "base/units.h"
#include "result/age.h"

#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

enum { EVENTS_SIZE = 4096, EVENTS_IN_FULL = 2 };

static void put_verdict(struct report_says *says, const struct report_run *run)
{
	const struct judgement *judgement = &run->record.outcome.judgement;
	char buffer[REPORT_LINE_SIZE];
	struct text text;
	text_init(&text, buffer, sizeof(buffer));
	run_picture_verdict(&run->record.outcome, &text);
	/* The record keeps the verdict on the other basis; where it differs, a reader is told. */
	if (judgement->rate_other.verdict != VERDICT_NONE &&
		judgement->rate_other.verdict != judgement->rate.verdict)
		text_format(&text, " On the %s load it would be: %s.",
			basis_text(judgement->basis == BASIS_MAXIMUM ? BASIS_ANTICIPATED
								     : BASIS_MAXIMUM),
			words_verdict(judgement->rate_other.verdict));
	report_say(says, run, judgement->rate.verdict != VERDICT_IN_BAND, "%s", buffer);
}

/* ---- corrections */

static void put_correction(struct report_says *says, const struct report_run *run, const char *what,
	const struct correction *by)
{
	char at[CLOCKS_UTC_TEXT_SIZE];
	if (by->number == 0)
		return;
	words_minute(by->at, at);
	report_say(says, run, true, "run %" PRId64 " %s, by %s, %s: %s.", run->record.row.run, what,
		by->by.name, at, by->reason);
}

/* What was changed afterwards; what it was before stands in the table: the original stays on
 * record. */
static void put_corrections(struct report_says *says, const struct report_run *run)
{
	const struct fracture_row *fracture = &run->record.fracture;
	char at[CLOCKS_UTC_TEXT_SIZE];
	put_correction(says, run, "does not count", &run->voided);
	put_correction(says, run, "was judged again with corrected data", &run->correction);
	if (run->first_fracture.type) {
		words_minute(fracture->at, at);
		report_say(says, run, true,
			"the fracture was entered again, by %s, %s; before it was type %d.",
			fracture->by.name, at, run->first_fracture.type);
	}
}

/* ---- the specimen */

static void put_age_finding(struct report_says *says, const struct report_run *run)
{
	struct age age = report_age(run);
	char at[AGE_TEXT_SIZE], intended[AGE_TEXT_SIZE], tolerance[AGE_TEXT_SIZE];
	if (!run->record.start.has_specimen)
		return;
	if (age.ns == 0) {
		report_say(says, run, true,
			"the age is not known: the hour of casting was not stated.");
		return;
	}
	if (!age.outside)
		return;
	age_text(age.ns, at);
	age_text(age.intended_ns, intended);
	age_text(age.tolerance_ns, tolerance);
	double off_h = fabs((double)(age.ns - age.intended_ns)) / 3600e9;
	report_say(says, run, true,
		"tested at %s, %.1f h %s than %s, beyond the \302\261 %s of the method: the "
		"strength is that of the true age.",
		at, off_h, age.ns > age.intended_ns ? "later" : "earlier", intended, tolerance);
}

static void put_detail_findings(struct report_says *says, const struct report_run *run)
{
	const struct run_start *start = &run->record.start;
	const struct method *method = run->replay.outcome.method;
	struct detail_flags flags = {0};
	struct message why;
	if (!start->has_specimen || !method)
		return;
	/* How often pads were used by then is said when the specimen is registered. */
	if (!detail_check(method, &start->specimen, &run->detail, 0, &flags, &why))
		report_say(says, run, true, "%s.", why.text);
	for (size_t i = 0; i < flags.count; i++)
		report_say(says, run, true, "%s.", flags.flags[i].text);
}

/* ASTM C78, from memory: 3 P a / (b d^2) instead of P l / (b d^2). */
static void put_distance(struct report_says *says, const struct report_run *run)
{
	const struct run_record *record = &run->record;
	double span = (double)record->start.specimen.length_um;
	double crack = (double)record->fracture.crack_um;
	char by_formula[OUTCOME_REPORTED_SIZE];
	outcome_strength_text(run->replay.outcome.method, run->formula_pa, by_formula);
	report_say(says, run, true,
		"the crack began %.1f mm from the nearer support, %.1f %% of the span outside the "
		"middle third: strength by 3Pa/(bd\302\262), not Pl/(bd\302\262), which would be "
		"%s.",
		crack / (double)UNITS_UM_PER_MM, 100 * (1.0 / 3 - crack / span), by_formula);
}

static void put_fracture_finding(struct report_says *says, const struct report_run *run)
{
	const struct fracture_row *row = &run->record.fracture;
	if (!row->type) {
		report_say(says, run, true,
			"the fracture type is not entered; run %" PRId64 " is not complete.",
			run->record.row.run);
		return;
	}
	if (report_fracture_is(run, METHOD_FRACTURE_DOUBT))
		report_say(says, run, true,
			"fracture type %d makes the result doubtful by the method.", row->type);
	if (report_fracture_is(run, METHOD_FRACTURE_VOID))
		report_say(says, run, true,
			"fracture type %d gives no result by the method; it does not count for "
			"the mean.",
			row->type);
	if (report_fracture_is(run, METHOD_FRACTURE_DISTANCE))
		put_distance(says, run);
}

/* What is said of corrections and of the fracture stands there. */
static void put_without(struct report_says *says, const struct report_run *run)
{
	if (run->without && !run->voided.number && !report_fracture_is(run, METHOD_FRACTURE_VOID))
		report_say(says, run, true, "run %" PRId64 " does not count for the mean: %s.",
			run->record.row.run, run->without);
}

static void put_run_findings(struct report_says *says, const struct report_run *run)
{
	const struct run_record *record = &run->record;
	if (!record->row.closed) {
		report_say(says, run, true, "run %" PRId64 " was not closed; it has no outcome.",
			record->row.run);
		return;
	}
	put_verdict(says, run);
	put_corrections(says, run);
	put_without(says, run);
	put_fracture_finding(says, run);
	put_age_finding(says, run);
	put_detail_findings(says, run);
}

/* ---- the set, and the press */

static void put_set_findings(struct sheet *sheet, const struct report_content *content)
{
	struct companions companions;
	char buffer[REPORT_LINE_SIZE * 2];
	struct text text;
	if (!report_companions(content, &companions)) {
		sheet->failed = true;
		return;
	}
	if (!companions.beyond && !companions.apart)
		return;
	if (companions.beyond)
		sheet_alert(sheet,
			"The companions range over %.1f %% of their mean, beyond the %.1f %% of "
			"the method. None was left out for it.",
			companions.range_percent, companions.limit_percent);
	if (companions.apart)
		sheet_alert(sheet,
			"One of the companions is farther from their mean than the "
			"%.0f %% of the method. None was left out for it.",
			report_method(content)->apart_max * 100);
	text_init(&text, buffer, sizeof(buffer));
	for (size_t i = 0; companions_checklist[i]; i++)
		text_format(&text, "%s%s",
			i > 0 ? "; " : "To be looked into: ", companions_checklist[i]);
	sheet_small(sheet, "%s.", buffer);
}

/* Where it is the same for all it stands at the head already. */
static void put_press_findings(struct sheet *sheet, const struct report_content *content)
{
	struct message first, why;
	bool same = !report_reportable(&content->runs[0], &first);
	for (size_t i = 1; i < content->count && same; i++)
		same = !report_reportable(&content->runs[i], &why) &&
		       strcmp(why.text, first.text) == 0;
	for (size_t i = 0; i < content->count && !same; i++) {
		if (!report_reportable(&content->runs[i], &why))
			sheet_alert(sheet, "%s: not reportable: %s.",
				report_specimen(&content->runs[i]), why.text);
	}
}

/* ---- events */

/* How many events of its kind came before. */
static size_t events_before(const struct judgement *judgement, size_t event)
{
	size_t before = 0;
	for (size_t i = 0; i < event; i++)
		before += judgement->events[i].kind == judgement->events[event].kind;
	return before;
}

/* Time and kind, and the first ones of a kind in full. */
static void put_event(struct text *text, const struct report_run *run, size_t event)
{
	char buffer[REPORT_LINE_SIZE];
	struct text words;
	text_init(&words, buffer, sizeof(buffer));
	run_picture_event(&run->curve, event, &words);
	if (events_before(&run->record.outcome.judgement, event) >= EVENTS_IN_FULL)
		buffer[strcspn(buffer, ":")] = '\0';
	text_format(text, "%s(%zu) %s", event ? "; " : "", event + 1, buffer);
}

static void put_events(struct sheet *sheet, const struct report_run *run)
{
	const struct judgement *judgement = &run->record.outcome.judgement;
	char buffer[EVENTS_SIZE];
	struct text text;
	if (!run->record.row.closed || judgement->event_count == 0)
		return;
	size_t count = run_picture_event_count(&run->record.outcome);
	text_init(&text, buffer, sizeof(buffer));
	for (size_t i = 0; i < count; i++)
		put_event(&text, run, i);
	if (judgement->event_total > count)
		text_format(&text, "; and %zu more", judgement->event_total - count);
	sheet_small(sheet, "%s, events: %s.", report_specimen(run), buffer);
}

void report_put_findings(struct sheet *sheet, const struct report_content *content)
{
	struct report_says says = {.sentences = NULL};
	report_heading(sheet, content, "Verdict, and what was not met", "rate");
	if (!report_confirmed(content))
		sheet_alert(sheet,
			"The method's data are not confirmed by the laboratory against its own "
			"copy of the standard.");
	put_press_findings(sheet, content);
	report_put_acceptance(sheet, content);
	put_set_findings(sheet, content);
	for (size_t i = 0; i < content->count; i++)
		put_run_findings(&says, &content->runs[i]);
	report_say_put(&says, sheet, content->count);
	for (size_t i = 0; i < content->count; i++)
		put_events(sheet, &content->runs[i]);
}
