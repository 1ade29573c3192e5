/* SPDX-License-Identifier: MIT
 *
 * `ramplog show`: everything about one run, for a person. The curve and the rate are drawn from the
 * readings, through the replay that the audit uses.
 */
#include "commands.h"
#include "draw/run_plot.h"
#include "draw/shown.h"
#include "draw/text_plot.h"
#include "fields.h"
#include "options.h"
#include "output.h"
#include "result/fracture.h"
#include "show_specimen.h"
#include "store/replay.h"
#include "stored.h"
#include "table.h"
#include "words.h"

#include <inttypes.h>
#include <langinfo.h>
#include <stdlib.h>
#include <string.h>

enum { PLOT_HEIGHT = 16, SHOW_TEXT_SIZE = 200 };

struct show {
	const char *command;
	const char *database;
	const char *output; /* NULL: none */
	bool json;
	bool ascii;
	int64_t run;
};

static const struct argp_option options[] = {
	{"ascii", 'a', NULL, 0, "draw with ASCII characters only", 0}, {0}};

static error_t parse(int key, char *typed, struct argp_state *state)
{
	struct show *show = state->input;
	switch (key) {
	case ARGP_KEY_INIT:
		state->child_inputs[0] = &show->database;
		state->child_inputs[1] = &show->json;
		state->child_inputs[2] = &show->output;
		return 0;
	case 'a':
		show->ascii = true;
		return 0;
	case ARGP_KEY_ARG:
		if (show->run)
			argp_error(state, "one run at a time; '%s' is one too many", typed);
		show->run = options_number(state, "a run", typed);
		return 0;
	case ARGP_KEY_END:
		if (!show->run)
			argp_error(state, "which RUN? `ramplog runs` lists them");
		return 0;
	default:
		return ARGP_ERR_UNKNOWN;
	}
}

static void put_quantity(
	const char *name, enum shown_quantity quantity, bool inch_pound, double value)
{
	char buffer[SHOW_TEXT_SIZE];
	struct text text;
	text_init(&text, buffer, sizeof(buffer));
	shown_put(quantity, inch_pound, value, &text);
	fields_put(name, "%s", buffer);
}

/* What the fracture makes of the strength, where it does. */
static void put_stands(const struct run_record *record)
{
	const struct run_start *start = &record->start;
	const struct method *method = start->judged_by;
	double strength_pa = record->outcome.strength_pa;
	char text[OUTCOME_REPORTED_SIZE];
	if (!method || !start->has_specimen || !(strength_pa > 0))
		return;
	double stands_pa = fracture_strength_pa(method, &start->specimen, record->fracture.type,
		record->fracture.crack_um, strength_pa);
	if (stands_pa == strength_pa)
		return;
	outcome_strength_text(method, stands_pa, text);
	fields_put("by the fracture", "%s", stands_pa > 0 ? text : "no result");
}

static double newtons(int64_t load_un)
{
	return (double)load_un / (double)UNITS_UN_PER_N;
}

static double seconds(const struct run_record *record, struct mono_time time)
{
	return (double)(time.ns - record->start.origin.ns) / (double)CLOCKS_NS_PER_S;
}

static const struct shown_unit *rate_unit_of(const struct run_record *record)
{
	const struct method *method = record->start.judged_by;
	return method ? shown_rate_unit(method)
		      : shown_unit(SHOWN_RATE, shown_inch_pound(record->start.method));
}

/* ---- the parts */

/* Both ends of a run have their time by the wall clock, and between them only the other clock
 * counts: where the run took longer than its dates say, the wall clock was set back meanwhile. That
 * it was set forward cannot be told from a run that was closed long after its last reading, as
 * after a restart. */
static const double CLOCK_SET_S = 1;

static void put_clock(const struct run_record *record, const struct replay *replay)
{
	if (!record->row.closed || replay->sample_count == 0)
		return;
	double took_s = seconds(record, replay->samples[replay->sample_count - 1].time);
	int64_t by_dates_ns = record->ended.ns - record->start.started.ns;
	double back_s = took_s - (double)by_dates_ns / (double)CLOCKS_NS_PER_S;
	if (back_s > CLOCK_SET_S)
		fields_put("wall clock",
			"SET BACK by %.0f s while the run went on, which took %.1f s: one of the "
			"two dates is wrong",
			back_s, took_s);
}

static void put_head(const struct run_record *record, const struct replay *replay)
{
	char time[CLOCKS_UTC_TEXT_SIZE];
	printf("run %" PRId64 " on %s\n", record->row.run, record->row.press);
	clocks_utc_text(record->row.started, time);
	fields_put("started", "%s", time);
	if (record->row.closed) {
		clocks_utc_text(record->ended, time);
		fields_put("ended", "%s", time);
	}
	put_clock(record, replay);
	fields_put("recorded by", "%s", record->start.program);
}

static void put_cells(const struct run_record *record)
{
	static const char *const heads[] = {
		"  cell", "device", "decoder", "unit", "factor", "zero, N"};
	struct table table;
	table_init(&table, "llllrr");
	for (size_t i = 0; i < sizeof(heads) / sizeof(*heads); i++)
		table_add(&table, heads[i]);
	for (size_t i = 0; i < record->start.cell_count; i++) {
		const struct run_cell *cell = &record->start.cells[i];
		char name[STORE_NAME_SIZE + 2], factor[40], zero[24];
		snprintf(name, sizeof(name), "  %s", cell->name);
		snprintf(factor, sizeof(factor), "%.15g", decimal_double(cell->scale.factor));
		decimal_text(cell->scale.zero_un, 6, zero);
		const char *const cells[] = {name, cell->device, cell->decoder,
			units_text(cell->scale.unit), factor, zero};
		for (size_t j = 0; j < sizeof(cells) / sizeof(*cells); j++)
			table_add(&table, cells[j]);
	}
	puts("cells");
	table_print(&table, stdout);
	table_finish(&table);
}

static void put_plan(const struct run_record *record, bool inch_pound)
{
	const struct plan *plan = &record->start.plan;
	const struct shown_unit *rate = rate_unit_of(record);
	double factor = plan->rate_unit_pa / rate->si;
	puts("judged against");
	fields_put("method", "%s", record->start.method);
	fields_put("band", "%.*f to %.*f %s", rate->places, plan->band_low * factor, rate->places,
		plan->band_high * factor, rate->text);
	fields_put("judged span", "%.0f %% of the %s to %.0f %% of the maximum load",
		plan->span_from * 100,
		plan->basis_anticipated && plan->anticipated_load_un ? "anticipated load"
								     : "maximum load",
		plan->span_to * 100);
	fields_put("judging window", "%.1f s", (double)plan->window_ns / (double)CLOCKS_NS_PER_S);
	if (plan->anticipated_load_un)
		put_quantity("anticipated load", SHOWN_LOAD, inch_pound,
			newtons(plan->anticipated_load_un));
	put_quantity("contact", SHOWN_LOAD, inch_pound, newtons(plan->contact_un));
	if (record->start.capacity_un)
		put_quantity("press capacity", SHOWN_LOAD, inch_pound,
			newtons(record->start.capacity_un));
}

static void put_thresholds(const struct policy *policy)
{
	puts("thresholds");
	for (const struct policy_entry *entry = policy_table(); entry->name; entry++) {
		double value;
		memcpy(&value, (const char *)policy + entry->offset, sizeof(value));
		/* A pure number's unit is written 1. */
		bool pure = strcmp(entry->unit, "1") == 0;
		printf("  %-19s %g%s%s\n", entry->name, value, pure ? "" : " ",
			pure ? "" : entry->unit);
	}
}

static void put_press(const struct run_record *record, bool inch_pound)
{
	const struct standing *standing = &record->start.standing;
	const struct press_watch_plan *watch = &record->start.watch;
	struct message why;
	char time[CLOCKS_UTC_TEXT_SIZE];
	int64_t maximum_un = record->row.closed ? record->row.maximum_un : 0;
	puts("press");
	if (standing_reportable(standing, maximum_un, &why))
		fields_put("verification", "in force: the load may be reported");
	else
		fields_put("verification", "NOT REPORTABLE: %s", why.text);
	if (standing->verification) {
		words_time(standing->verified, time);
		fields_put("verified", "%s (number %" PRId64 ")", time, standing->verification);
		words_time(standing->due, time);
		fields_put("due", "%s", time);
		fields_put("verified range", "%.10g to %.10g kN", newtons(standing->low_un) * 1e-3,
			newtons(standing->high_un) * 1e-3);
	}
	if (watch->zero_limit_un)
		put_quantity("zero within", SHOWN_LOAD, inch_pound, newtons(watch->zero_limit_un));
	if (watch->block.width_um)
		fields_put("bearing block", "%s%.10g mm", watch->block.square ? "square " : "",
			(double)watch->block.width_um * 1e-3);
}

static void put_thrust(const struct run_record *record)
{
	const struct outcome_thrust *thrust = &record->outcome.thrust;
	if (!thrust->known)
		return;
	fields_put("point of thrust", "x %.1f, y %.1f mm at last; %.1f mm off at most, at %.3f s",
		(double)thrust->x_um * 1e-3, (double)thrust->y_um * 1e-3,
		(double)thrust->worst_um * 1e-3, seconds(record, thrust->worst_at));
}

static void put_rate(const struct run_record *record, const struct rate *rate)
{
	const struct shown_unit *unit = rate_unit_of(record);
	fields_put("verdict", "%s", words_verdict(rate->verdict));
	fields_put("reason", "%s", rate->reason);
	if (rate->verdict == VERDICT_NONE)
		return;
	fields_put(
		"span", "%.3f to %.3f s", seconds(record, rate->from), seconds(record, rate->to));
	fields_put("mean", "%.*f %s", unit->places, rate->mean_pa_s / unit->si, unit->text);
	fields_put("lowest, highest", "%.*f, %.*f %s (windows of %.2f s, u = %.*f)", unit->places,
		rate->lowest_pa_s / unit->si, unit->places, rate->highest_pa_s / unit->si,
		unit->text, (double)rate->window_ns / (double)CLOCKS_NS_PER_S, unit->places + 1,
		rate->uncertainty_pa_s / unit->si);
	fields_put(
		"outside the band", "%.2f s", (double)rate->outside_ns / (double)CLOCKS_NS_PER_S);
	fields_put("worst at", "%.3f s", seconds(record, rate->worst));
}

static void put_events(const struct run_record *record, bool inch_pound)
{
	const struct judgement *judgement = &record->outcome.judgement;
	if (judgement->event_count == 0)
		return;
	puts("events");
	for (size_t i = 0; i < judgement->event_count; i++) {
		const struct event *event = &judgement->events[i];
		char load[SHOW_TEXT_SIZE];
		struct text text;
		text_init(&text, load, sizeof(load));
		shown_put(SHOWN_LOAD, inch_pound, newtons(event->load_un), &text);
		char at[SHOW_TEXT_SIZE];
		snprintf(at, sizeof(at), "%.3f s", seconds(record, event->time));
		fields_put(at, "%s, %s: %s", load, event_kind_text(event->kind), event->text);
	}
	if (judgement->event_total > judgement->event_count)
		printf("  and %zu more\n", judgement->event_total - judgement->event_count);
}

static void put_outcome(const struct run_record *record, bool inch_pound)
{
	const struct outcome *outcome = &record->outcome;
	const struct judgement *judgement = &outcome->judgement;
	puts("outcome");
	fields_put("end", "%s", end_text(judgement->end));
	put_quantity("maximum load", SHOWN_LOAD, inch_pound, newtons(judgement->maximum_un));
	fields_put("reached at", "%.3f s", seconds(record, judgement->maximum_at));
	if (outcome->strength_reported[0]) {
		fields_put("strength", "%s", outcome->strength_reported);
		fields_put("factor", "%.3f", outcome->correction);
		put_stands(record);
	}
	put_thrust(record);
	printf("stress rate, on the %s load\n", basis_text(judgement->basis));
	put_rate(record, &judgement->rate);
	if (judgement->rate_other.verdict != VERDICT_NONE) {
		enum basis other =
			judgement->basis == BASIS_MAXIMUM ? BASIS_ANTICIPATED : BASIS_MAXIMUM;
		printf("for comparison, on the %s load\n", basis_text(other));
		put_rate(record, &judgement->rate_other);
	}
	put_events(record, inch_pound);
}

static bool put_correction(void *context, const struct correction *correction)
{
	bool inch_pound = *(const bool *)context;
	const struct outcome *outcome = &correction->outcome;
	char at[CLOCKS_UTC_TEXT_SIZE];
	words_time(correction->at, at);
	if (correction->kind == CORRECTION_SPECIMEN) {
		fields_put("of specimen", "%s", correction->specimen.id);
		show_put_lengths(&correction->specimen, inch_pound);
		fields_put("strength", "%s",
			outcome->strength_reported[0] ? outcome->strength_reported : "-");
		fields_put("rate", "%s: %s", words_verdict(outcome->judgement.rate.verdict),
			outcome->judgement.rate.reason);
	} else {
		fields_put("run", "%s",
			correction->kind == CORRECTION_VOID ? "VOID: does not count"
							    : "counts again");
	}
	fields_put("because", "%s", correction->reason);
	fields_put("corrected", "%s by %s (uid %" PRIu32 ")", at, correction->by.name,
		correction->by.uid);
	return true;
}

static enum store_status put_corrections(
	const struct run_record *record, struct store *store, bool inch_pound)
{
	if (record->row.correction_count == 0)
		return STORE_OK;
	puts("corrections, the last one holds");
	return store_corrections_each(store, record->row.run, put_correction, &inch_pound);
}

static void put_kept(const struct run_record *record, size_t sample_count)
{
	puts("kept");
	fields_put("readings", "%" PRId64, record->row.reading_count);
	fields_put("samples", "%zu", sample_count);
	if (!record->row.closed)
		return;
	char seal[STORE_SEAL_SIZE * 2 + 1];
	for (size_t i = 0; i < STORE_SEAL_SIZE; i++)
		snprintf(seal + 2 * i, 3, "%02x", record->seal[i]);
	printf("  seal\n    %s\n", seal); /* wider than what is left beside a name */
}

static void put_plot(const struct plot *plot, bool ascii)
{
	/* Three bytes of UTF-8 a cell at the most. */
	size_t size = (TEXT_PLOT_WIDTH_MOST * 3 + 1) * PLOT_HEIGHT;
	char *buffer = malloc(size);
	struct text text;
	if (!buffer)
		return;
	text_init(&text, buffer, size);
	text_plot_draw(plot, table_columns(), PLOT_HEIGHT, ascii ? TEXT_PLOT_ASCII : TEXT_PLOT_UTF8,
		&text);
	fputs(buffer, stdout);
	free(buffer);
}

static void put_plots(const struct run_record *record, const struct replay *replay, bool ascii)
{
	const struct run_curve curve = {
		replay->samples, replay->sample_count, record->start.origin, &replay->outcome};
	struct run_plot drawing;
	if (curve.count == 0 || !replay->outcome.method)
		return;
	if (run_plot_load(&drawing, &curve)) {
		put_plot(&drawing.plot, ascii);
		run_plot_finish(&drawing);
	}
	if (run_plot_rate(&drawing, &curve)) {
		put_plot(&drawing.plot, ascii);
		run_plot_finish(&drawing);
	}
}

static enum store_status put_confirmation(const struct run_record *record, struct store *store)
{
	const struct method *method = record->start.judged_by;
	struct method_confirmation confirmation;
	char at[CLOCKS_UTC_TEXT_SIZE];
	enum store_status status =
		method ? store_method_confirmed(store, method, &confirmation) : STORE_NONE;
	if (status == STORE_NONE)
		fields_put("method is", "not confirmed by the laboratory");
	if (status != STORE_OK)
		return status == STORE_NONE ? STORE_OK : status;
	words_time(confirmation.at, at);
	fields_put("method is", "confirmed against %s by %s, %s", confirmation.edition,
		confirmation.by.name, at);
	return STORE_OK;
}

static enum store_status put_run(const struct run_record *record, struct store *store,
	const struct replay *replay, bool ascii)
{
	bool inch_pound = shown_inch_pound(record->start.method);
	put_head(record, replay);
	enum store_status status = show_put_specimen(record, store, inch_pound);
	put_cells(record);
	put_press(record, inch_pound);
	put_plan(record, inch_pound);
	if (status == STORE_OK)
		status = put_confirmation(record, store);
	put_thresholds(&record->start.plan.policy);
	if (record->row.closed)
		put_outcome(record, inch_pound);
	else
		puts("outcome\n  the run was not closed: it goes on, or the daemon was stopped in "
		     "it");
	if (status == STORE_OK)
		status = show_put_fractures(record, store);
	if (status == STORE_OK)
		status = put_corrections(record, store, inch_pound);
	put_kept(record, replay->sample_count);
	put_plots(record, replay, ascii);
	return status;
}

static int draw_run(
	const struct show *show, const struct run_record *record, const struct replay *replay)
{
	const struct run_curve curve = {
		replay->samples, replay->sample_count, record->start.origin, &replay->outcome};
	char detail[SHOW_TEXT_SIZE], name[STORE_NAME_SIZE], started[CLOCKS_UTC_TEXT_SIZE];
	if (curve.count == 0 || !replay->outcome.method) {
		fprintf(stderr, "%s: run %" PRId64 " has no readings to draw\n", show->command,
			show->run);
		return EXIT_NO;
	}
	words_time(record->start.started, started);
	snprintf(detail, sizeof(detail), "run %" PRId64 " on %s, %s, %s", show->run,
		record->row.press, started, replay->outcome.method->standard);
	snprintf(name, sizeof(name), "%s",
		record->start.has_specimen ? record->start.specimen.id : "no specimen");
	const struct run_picture picture = {.curve = &curve, .name = name, .detail = detail};
	const struct page_about about = {name, started};
	return output_picture(show->command, show->output, &picture, &about);
}

static int put_json(const struct show *show, struct store *store, const struct run_record *record)
{
	json_t *object = NULL;
	enum store_status status = stored_run_json(store, record, &object);
	if (status == STORE_OK)
		return stored_put_json(show->command, object);
	json_decref(object);
	return stored_failed(show->command, store, status);
}

static int show_run(const struct show *show, struct store *store)
{
	struct run_record record;
	struct replay replay;
	int code = stored_run(show->command, store, show->run, &record);
	if (code != EXIT_DONE)
		return code;
	enum store_status status = replay_run(store, &record, &replay);
	if (status != STORE_OK)
		return stored_failed(show->command, store, status);
	if (show->output)
		code = draw_run(show, &record, &replay);
	else if (show->json)
		code = put_json(show, store, &record);
	else
		status = put_run(&record, store, &replay, show->ascii);
	if (status != STORE_OK)
		code = stored_failed(show->command, store, status);
	replay_finish(&replay);
	return code;
}

int show_main(int argc, char **argv)
{
	const struct argp_child children[] = {{&options_database, 0, NULL, 0},
		{&options_json, 0, NULL, 0}, {&output_argp, 0, NULL, 0}, {0}};
	const struct argp argp = {options, parse, "RUN",
		"Shows everything about one stored run, with its curve and its stress rate drawn.",
		children, NULL, NULL};
	struct show show = {.command = argv[0]};
	struct store *store;
	argp_parse(&argp, argc, argv, 0, NULL, &show);
	show.ascii = show.ascii || strcmp(nl_langinfo(CODESET), "UTF-8") != 0;
	int code = stored_open(show.command, show.database, &store);
	if (code != EXIT_DONE)
		return code;
	code = show_run(&show, store);
	store_close(store);
	return code;
}
