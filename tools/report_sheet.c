/* SPDX-License-Identifier: MIT
 *
 * The parts of a report in the order in which they are read: what was tested, by which method, on
 * which press, by whom; the results; what was not met; how it was decided; the curves; how to check
 * all of it against the database.
 *
 * Nothing is left out because it looks bad: every run of the set is in the report, aborted ones
 * too; only broken ones count for the mean.
 */
#include "report_sheet.h"

#include "words.h"

#include "base/decimal.h"
#include "base/units.h"
#include "draw/shown.h"
#include "result/statistics.h"

#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
	LINE_SIZE = 512,
	SEAL_TEXT_SIZE = 2 * STORE_SEAL_SIZE + 1,
	FACE_SIZE = 48,
	EVENTS_SIZE = 4096,
	EVENTS_IN_FULL = 2
};

static const double hours_per_day = 24, ns_per_hour = 3600e9;

static const struct method *method_of(const struct report_content *content)
{
	return content->runs[0].replay.outcome.method;
}

static bool inch_pound(const struct report_content *content)
{
	return shown_inch_pound(content->runs[0].record.start.method);
}

static const char *specimen_of(const struct report_run *run)
{
	return run->record.start.has_specimen ? run->record.start.specimen.id : "no specimen";
}

static double newtons(int64_t load_un)
{
	return (double)load_un / (double)UNITS_UN_PER_N;
}

/* Counts for the mean: the specimen broke and has a strength, and nobody said that it does not. */
static bool counts(const struct report_run *run)
{
	return run->record.row.closed && run->voided.number == 0 && !run->elsewhere &&
	       run->record.outcome.judgement.end == END_BROKEN &&
	       run->record.outcome.strength_pa > 0;
}

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

/* Once for each press, as it stood when the first of its runs began. */
static void put_verifications(struct sheet *sheet, const struct report_content *content)
{
	for (size_t i = 0; i < content->count; i++) {
		const struct run_start *start = &content->runs[i].record.start;
		const struct standing *standing = &start->standing;
		char verified[CLOCKS_UTC_TEXT_SIZE], due[CLOCKS_UTC_TEXT_SIZE];
		bool seen = false;
		for (size_t j = 0; j < i; j++)
			seen = seen ||
			       strcmp(content->runs[j].record.start.press, start->press) == 0;
		if (seen)
			continue;
		sheet_field(sheet, "press", "%s", start->press);
		if (!standing->verification) {
			sheet_field(sheet, "verification", "press not verified");
			continue;
		}
		const struct shown_unit *unit = shown_unit(SHOWN_LOAD, inch_pound(content));
		words_minute(standing->verified, verified);
		words_minute(standing->due, due);
		sheet_field(sheet, "verification",
			"no. %" PRId64 ", %s: of %.10s, due %.10s, for %.*f to %.*f %s",
			standing->verification, standing_kind_text(standing->kind), verified, due,
			unit->places, newtons(standing->low_un) / unit->si, unit->places,
			newtons(standing->high_un) / unit->si, unit->text);
	}
}

/* Those who entered what they saw, each once. */
static void put_technicians(struct sheet *sheet, const struct report_content *content)
{
	char buffer[LINE_SIZE];
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

/* The text by which each of the runs was judged. */
static bool is_confirmed(const struct report_content *content)
{
	bool confirmed = true;
	for (size_t i = 0; i < content->count; i++)
		confirmed = confirmed && content->runs[i].confirmed;
	return confirmed;
}

static void put_method(struct sheet *sheet, const struct report_content *content)
{
	const struct method *method = method_of(content);
	const struct method_confirmation *confirmation = &content->runs[0].confirmation;
	const char *name = method ? method->standard : content->runs[0].record.start.method;
	char at[CLOCKS_UTC_TEXT_SIZE];
	if (!is_confirmed(content)) {
		sheet_field(sheet, "method", "%s, not confirmed by the laboratory", name);
		return;
	}
	words_minute(confirmation->at, at);
	sheet_field(sheet, "method", "%s, confirmed against edition %s by %s, %.10s", name,
		confirmation->edition, confirmation->by.name, at);
}

static void put_identification(struct sheet *sheet, const struct report_content *content)
{
	const struct report_words *words = content->words;
	put_if(sheet, "laboratory", words->laboratory);
	put_if(sheet, "customer", words->customer);
	sheet_field(sheet, "subject", "%s", content->subject);
	put_method(sheet, content);
	put_times(sheet, content);
	put_verifications(sheet, content);
	put_technicians(sheet, content);
	sheet_field(sheet, "reviewer", "%s", words->reviewer ? words->reviewer : "not reviewed");
	sheet_field(sheet, "issued", "%s", words->issued ? words->issued : "not issued: a draft");
	sheet_field(sheet, "recorded by", "%s", content->runs[0].record.start.program);
}

/* ---- results */

static void length_text(int64_t um, bool in_inch, char *text)
{
	if (um <= 0)
		strcpy(text, "-");
	else if (in_inch)
		decimal_text((um * 10 + 127) / 254, 3, text);
	else
		decimal_text((um + 5) / 10, 2, text);
}

/* ASTM C39 wants days from three on, hours below (from memory). */
static void age_text(const struct run_record *record, char *text, size_t size)
{
	int64_t cast_ns = record->start.specimen.cast.ns;
	double hours = (double)(record->start.started.ns - cast_ns) / ns_per_hour;
	if (!record->start.has_specimen || !cast_ns)
		snprintf(text, size, "-");
	else if (hours < 3 * hours_per_day)
		snprintf(text, size, "%.1f h", hours);
	else
		snprintf(text, size, "%.1f d", hours / hours_per_day);
}

static void put_result_head(struct sheet *sheet, bool in_inch)
{
	static const char *const heads[][2] = {{"specimen", "specimen"}, {"run", "run"},
		{"age", "age"}, {"widths, mm", "widths, in"}, {"length, mm", "length, in"},
		{"area, mm2", "area, in2"}, {"maximum", "maximum"}, {"L/D factor", "L/D factor"},
		{"strength", "strength"}, {"type", "type"}, {"rate", "rate"}};
	sheet_table(sheet, "lrrrrrrrrrl");
	for (size_t i = 0; i < sizeof(heads) / sizeof(*heads); i++)
		sheet_cell(sheet, "%s", heads[i][in_inch]);
}

static void put_specimen_cells(struct sheet *sheet, const struct run_record *record, bool in_inch)
{
	const struct specimen *specimen = &record->start.specimen;
	char widths[2][24], length[24];
	if (!record->start.has_specimen) {
		for (size_t i = 0; i < 3; i++)
			sheet_cell(sheet, "-");
		return;
	}
	length_text(specimen->width_um[0], in_inch, widths[0]);
	length_text(specimen->width_um[1], in_inch, widths[1]);
	length_text(specimen->length_um, in_inch, length);
	sheet_cell(sheet, "%s / %s", widths[0], widths[1]);
	sheet_cell(sheet, "%s", length);
	double unit = in_inch ? 0.0254 * 0.0254 : 1e-6;
	sheet_cell(sheet, "%.*f", in_inch ? 3 : 0, specimen_area_m2(specimen) / unit);
}

static void put_result_row(struct sheet *sheet, const struct report_run *run, bool in_inch)
{
	const struct run_record *record = &run->record;
	const struct outcome *outcome = &record->outcome;
	char age[24], buffer[40];
	struct text text;
	age_text(record, age, sizeof(age));
	sheet_cell(sheet, "%s", specimen_of(run));
	sheet_cell(sheet, "%" PRId64, record->row.run);
	sheet_cell(sheet, "%s", age);
	put_specimen_cells(sheet, record, in_inch);
	text_init(&text, buffer, sizeof(buffer));
	if (record->row.closed)
		shown_put(SHOWN_LOAD, in_inch, newtons(outcome->judgement.maximum_un), &text);
	sheet_cell(sheet, "%s", text.length ? buffer : "not closed");
	if (record->row.closed && outcome->strength_reported[0])
		sheet_cell(sheet, "%.3f", outcome->correction);
	else
		sheet_cell(sheet, "-");
	sheet_cell(sheet, "%s",
		record->row.closed && outcome->strength_reported[0] ? outcome->strength_reported
								    : "-");
	if (record->fracture.type)
		sheet_cell(sheet, "%d", record->fracture.type);
	else
		sheet_cell(sheet, "-");
	sheet_cell(sheet, "%s",
		record->row.closed ? words_verdict(outcome->judgement.rate.verdict) : "-");
}

static void put_mean(struct sheet *sheet, const struct report_content *content)
{
	double *strengths = calloc(content->count, sizeof(*strengths));
	double low = INFINITY, high = 0;
	size_t count = 0;
	char mean[OUTCOME_REPORTED_SIZE];
	if (!strengths) {
		sheet->failed = true;
		return;
	}
	for (size_t i = 0; i < content->count; i++) {
		double strength = content->runs[i].record.outcome.strength_pa;
		if (!counts(&content->runs[i]))
			continue;
		strengths[count++] = strength;
		low = fmin(low, strength);
		high = fmax(high, strength);
	}
	struct statistics statistics = statistics_of(strengths, count);
	free(strengths);
	if (count < 2 || !method_of(content))
		return;
	outcome_strength_text(method_of(content), statistics.mean, mean);
	sheet_field(sheet, "mean", "%s, from %zu unrounded strengths", mean, count);
	sheet_field(sheet, "range", "%.1f %% of the mean", 100 * (high - low) / statistics.mean);
}

static void put_fractures(struct sheet *sheet, const struct report_content *content)
{
	for (size_t i = 0; i < content->count; i++) {
		const struct fracture_row *fracture = &content->runs[i].record.fracture;
		if (!fracture->type)
			continue;
		sheet_text(sheet, "%s: fracture type %d, %s%s%s.", specimen_of(&content->runs[i]),
			fracture->type, words_fracture(fracture->type),
			fracture->note[0] ? "; " : "", fracture->note);
	}
}

static void put_results(struct sheet *sheet, const struct report_content *content)
{
	sheet_heading(sheet, "Results");
	put_result_head(sheet, inch_pound(content));
	for (size_t i = 0; i < content->count; i++)
		put_result_row(sheet, &content->runs[i], inch_pound(content));
	put_mean(sheet, content);
	put_fractures(sheet, content);
}

/* ---- what was not met */

static void put_verdict(struct sheet *sheet, const struct report_run *run)
{
	const struct outcome *outcome = &run->record.outcome;
	char buffer[LINE_SIZE];
	struct text text;
	text_init(&text, buffer, sizeof(buffer));
	run_picture_verdict(outcome, &text);
	if (outcome->judgement.rate.verdict == VERDICT_IN_BAND)
		sheet_text(sheet, "%s: %s", specimen_of(run), buffer);
	else
		sheet_alert(sheet, "%s: %s", specimen_of(run), buffer);
}

static void put_correction(struct sheet *sheet, const struct report_run *run, const char *what,
	const struct correction *by)
{
	char at[CLOCKS_UTC_TEXT_SIZE];
	if (by->number == 0)
		return;
	words_minute(by->at, at);
	sheet_alert(sheet, "%s: run %" PRId64 " %s, by %s, %s: %s.", specimen_of(run),
		run->record.row.run, what, by->by.name, at, by->reason);
}

/* What was changed afterwards, with what it was before: the original stays on record. */
static void put_corrections(struct sheet *sheet, const struct report_run *run)
{
	const struct run_row *row = &run->record.row;
	put_correction(sheet, run, "does not count", &run->voided);
	put_correction(sheet, run, "was judged again with corrected data", &run->correction);
	if (run->correction.number && row->closed)
		sheet_text(sheet, "%s: before the correction run %" PRId64 " was of %s, %s.",
			specimen_of(run), row->run,
			row->specimen[0] ? row->specimen : "no specimen",
			row->strength_reported[0] ? row->strength_reported : "without a strength");
	if (run->elsewhere)
		sheet_alert(sheet,
			"%s: by its correction run %" PRId64
			" is of another set; it does not count for the mean.",
			specimen_of(run), row->run);
}

static void put_run_findings(struct sheet *sheet, const struct report_run *run)
{
	const struct run_record *record = &run->record;
	if (!record->row.closed) {
		sheet_alert(sheet, "%s: run %" PRId64 " was not closed; it has no outcome.",
			specimen_of(run), record->row.run);
		return;
	}
	put_corrections(sheet, run);
	put_verdict(sheet, run);
	if (record->outcome.judgement.end != END_BROKEN)
		sheet_alert(sheet, "%s: run %" PRId64 " ended %s; it does not count for the mean.",
			specimen_of(run), record->row.run, end_text(record->outcome.judgement.end));
	if (!record->fracture.type)
		sheet_alert(sheet,
			"%s: the fracture type is not entered; run %" PRId64 " is not complete.",
			specimen_of(run), record->row.run);
}

static bool reportable(const struct report_run *run, struct message *why)
{
	const struct run_record *record = &run->record;
	int64_t maximum_un = record->row.closed ? record->outcome.judgement.maximum_un : 0;
	return standing_reportable(&record->start.standing, maximum_un, why);
}

/* Said once where it is the same for all. */
static void put_press_findings(struct sheet *sheet, const struct report_content *content)
{
	struct message first, why;
	bool same = !reportable(&content->runs[0], &first);
	for (size_t i = 1; i < content->count && same; i++)
		same = !reportable(&content->runs[i], &why) && strcmp(why.text, first.text) == 0;
	if (same) {
		sheet_alert(sheet, "All runs: %s.", first.text);
		return;
	}
	for (size_t i = 0; i < content->count; i++) {
		if (!reportable(&content->runs[i], &why))
			sheet_alert(sheet, "%s: %s.", specimen_of(&content->runs[i]), why.text);
	}
}

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
	char buffer[LINE_SIZE];
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
	sheet_text(sheet, "%s, events: %s.", specimen_of(run), buffer);
}

static void put_findings(struct sheet *sheet, const struct report_content *content)
{
	sheet_heading(sheet, "Verdict, and what was not met");
	if (!is_confirmed(content))
		sheet_alert(sheet,
			"The method's data are not confirmed by the laboratory against its own "
			"copy of the standard.");
	put_press_findings(sheet, content);
	for (size_t i = 0; i < content->count; i++)
		put_run_findings(sheet, &content->runs[i]);
	for (size_t i = 0; i < content->count; i++)
		put_events(sheet, &content->runs[i]);
}

static void put_rule(struct sheet *sheet, const struct report_content *content)
{
	const struct plan *plan = &content->runs[0].record.start.plan;
	const struct shown_unit *unit = shown_unit(SHOWN_RATE_LIVE, inch_pound(content));
	double factor = plan->rate_unit_pa / unit->si;
	bool anticipated = plan->basis_anticipated && plan->anticipated_load_un > 0;
	sheet_heading(sheet, "Decision rule");
	sheet_text(sheet,
		"The stress rate is the slope of the least-squares line through the samples of a "
		"window of %.1f s (or a third of a shorter span). It is judged from %.0f %% of the "
		"%s load to %.0f %% of the maximum load: unrounded, against the band of %.*f to "
		"%.*f %s (ASTM E29, absolute method). It was out of band where it was beyond a "
		"limit by more than %g times its standard error; beyond by less, or with readings "
		"missing, the verdict is undetermined. Strengths are rounded once, an exact five "
		"to the even digit.",
		(double)plan->window_ns / (double)CLOCKS_NS_PER_S, plan->span_from * 100,
		anticipated ? "anticipated" : "maximum", plan->span_to * 100, unit->places,
		plan->band_low * factor, unit->places, plan->band_high * factor, unit->text,
		plan->policy.sigmas);
}

/* ---- curves and seals */

static void hex_text(const unsigned char *bytes, char *text)
{
	for (size_t i = 0; i < STORE_SEAL_SIZE; i++)
		snprintf(text + 2 * i, 3, "%02x", bytes[i]);
}

/* Each key once: a press has one, until it is changed. */
static void put_keys(struct sheet *sheet, const struct report_content *content)
{
	char key[SEAL_TEXT_SIZE], name[FACE_SIZE];
	for (size_t i = 0; i < content->count; i++) {
		const struct run_seal *seal = &content->runs[i].seal;
		bool seen = !seal->is_signed;
		for (size_t j = 0; j < i; j++)
			seen = seen || content->runs[j].seal.key == seal->key;
		if (seen)
			continue;
		hex_text(seal->public_key, key);
		snprintf(name, sizeof(name), "public key %" PRId64, seal->key);
		sheet_code(sheet, name, key);
	}
}

/* The last run's seal covers those before it: the seals are a chain. */
static void put_seals(struct sheet *sheet, const struct report_content *content)
{
	char seal[SEAL_TEXT_SIZE], key[SEAL_TEXT_SIZE] = "none", name[FACE_SIZE], code[LINE_SIZE],
				   numbers[EVENTS_SIZE];
	const struct report_run *last = NULL;
	struct text text;
	sheet_heading(sheet, "To check this report against the database");
	text_init(&text, numbers, sizeof(numbers));
	for (size_t i = 0; i < content->count; i++)
		text_format(&text, " %" PRId64, content->runs[i].record.row.run);
	sheet_text(sheet,
		"ramplog audit%s derives the runs again from their readings and recomputes the "
		"seals; ramplog show prints the seal of a run. They must agree with what stands "
		"here. Seals are signed with the press's key (Ed25519).",
		numbers);
	for (size_t i = 0; i < content->count; i++) {
		const struct run_record *record = &content->runs[i].record;
		if (!record->row.closed)
			continue;
		last = &content->runs[i];
		hex_text(last->seal.hash, seal);
		snprintf(name, sizeof(name), "seal of run %" PRId64, record->row.run);
		sheet_code(sheet, name, seal);
	}
	if (!last)
		return;
	put_keys(sheet, content);
	hex_text(last->seal.hash, seal);
	if (last->seal.is_signed)
		hex_text(last->seal.public_key, key);
	snprintf(code, sizeof(code), "ramplog run %" PRId64 " seal %s key %s", last->record.row.run,
		seal, key);
	sheet_qr(sheet, code);
}

struct sheet *report_sheet(const struct report_content *content)
{
	const struct report_words *words = content->words;
	char foot[LINE_SIZE];
	snprintf(foot, sizeof(foot), "%s%s%s; %s. ramplog %s",
		words->laboratory ? words->laboratory : "", words->laboratory ? ", " : "",
		content->subject, words->issued ? words->issued : "a draft, not issued",
		RAMPLOG_VERSION);
	struct sheet *sheet =
		sheet_create("Compressive strength of concrete", foot, inch_pound(content));
	if (!sheet)
		return NULL;
	if (words->replaces)
		sheet_alert(sheet, "Amended report: it replaces %s%s%s.", words->replaces,
			words->reason ? ", because " : "", words->reason ? words->reason : "");
	put_identification(sheet, content);
	put_results(sheet, content);
	put_findings(sheet, content);
	put_rule(sheet, content);
	put_seals(sheet, content);
	bool headed = false;
	for (size_t i = 0; i < content->count; i++) {
		if (content->runs[i].curve.count == 0)
			continue;
		if (!headed)
			sheet_heading(sheet, "Curves");
		headed = true;
		sheet_picture(sheet, &content->runs[i].picture);
	}
	return sheet;
}
