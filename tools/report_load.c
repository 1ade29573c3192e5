/* SPDX-License-Identifier: MIT */
#include "report_load.h"

#include "commands.h"
#include "report_acceptance.h"
#include "result/fracture.h"
#include "set_tests.h"
#include "stored.h"
#include "words.h"

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

struct numbers {
	int64_t numbers[ISSUED_RUNS_MAX];
	size_t count;
	bool too_many;
};

static bool take_number(void *context, const struct run_row *row)
{
	struct numbers *found = context;
	found->too_many = found->count == ISSUED_RUNS_MAX;
	if (!found->too_many)
		found->numbers[found->count++] = row->run;
	return !found->too_many;
}

static bool is_number(const char *text)
{
	return *text && text[strspn(text, "0123456789")] == '\0' && strlen(text) < 18;
}

static int find_set(
	const char *command, struct store *store, const char *typed, struct numbers *found)
{
	struct run_filter filter = {0};
	if (strlen(typed) < sizeof(filter.set))
		strcpy(filter.set, typed);
	enum store_status status =
		filter.set[0] ? store_runs_each(store, &filter, take_number, found) : STORE_OK;
	if (status != STORE_OK)
		return stored_failed(command, store, status);
	if (found->too_many) {
		fprintf(stderr, "%s: the set has more than %d runs, too many for a report\n",
			command, ISSUED_RUNS_MAX);
		return EXIT_CANNOT;
	}
	if (found->count > 0)
		return EXIT_DONE;
	fprintf(stderr, "%s: there is no run of a set '%s'; `ramplog runs --set SET` lists one\n",
		command, typed);
	return EXIT_NO;
}

static int by_number(const void *a, const void *b)
{
	int64_t left = *(const int64_t *)a, right = *(const int64_t *)b;
	return (left > right) - (left < right);
}

/* ---- one run */

/* Keeps the last correction of the specimen, and the last word on whether the run counts. */
static bool take_correction(void *context, const struct correction *correction)
{
	struct report_run *run = context;
	if (correction->kind == CORRECTION_SPECIMEN)
		run->correction = *correction;
	else
		run->voided = *correction;
	if (correction->kind == CORRECTION_VALID)
		run->voided.number = 0;
	return true;
}

/* The first entry; that of a run with one entry is the one that holds. */
static bool take_fracture(void *context, const struct fracture_row *row)
{
	struct report_run *run = context;
	run->first_fracture = *row;
	return false;
}

static enum store_status find_fractures(struct store *store, struct report_run *run)
{
	enum store_status status =
		store_fractures_each(store, run->record.row.run, take_fracture, run);
	const struct fracture_row *first = &run->first_fracture, *last = &run->record.fracture;
	if (first->type == last->type && first->at.ns == last->at.ns)
		run->first_fracture.type = 0;
	return status;
}

/* What holds today: specimen and outcome as corrected last; and what was recorded first. */
static enum store_status derive(struct store *store, struct report_run *run)
{
	struct run_start *start = &run->record.start;
	int64_t number = run->record.row.run;
	enum store_status status = store_corrections_each(store, number, take_correction, run);
	if (status == STORE_OK && run->record.row.closed)
		status = store_run_seal(store, number, &run->seal);
	if (status != STORE_OK)
		return status;
	run->had_specimen = start->has_specimen;
	run->first_specimen = start->specimen;
	run->first_outcome = run->record.outcome;
	if (run->correction.number == 0)
		return replay_run(store, &run->record, &run->replay);
	status = replay_with(store, &run->record, &run->correction.specimen, &run->replay);
	start->has_specimen = true;
	start->specimen = run->correction.specimen;
	run->record.outcome = run->replay.outcome;
	return status;
}

/* For a beam the strength depends on where it cracked; some fractures give none. */
static void use_fracture(const struct fracture_row *fracture, const struct specimen *specimen,
	struct outcome *outcome)
{
	const struct method *method = outcome->method;
	if (!method || !fracture->type || !(outcome->strength_pa > 0))
		return;
	outcome->strength_pa = fracture_strength_pa(
		method, specimen, fracture->type, fracture->crack_um, outcome->strength_pa);
	outcome->strength_reported[0] = '\0';
	if (outcome->strength_pa > 0)
		outcome_strength_text(method, outcome->strength_pa, outcome->strength_reported);
}

static void use_fractures(struct report_run *run)
{
	const struct run_start *start = &run->record.start;
	const struct fracture_row *first =
		run->first_fracture.type ? &run->first_fracture : &run->record.fracture;
	run->formula_pa = run->record.outcome.strength_pa;
	use_fracture(&run->record.fracture, &start->specimen, &run->record.outcome);
	use_fracture(&run->record.fracture, &start->specimen, &run->replay.outcome);
	use_fracture(first, &run->first_specimen, &run->first_outcome);
}

static void decide_counting(struct report_runs *loaded)
{
	for (size_t i = 0; i < loaded->count; i++) {
		struct report_run *run = &loaded->runs[i];
		const struct run_start *start = &run->record.start;
		run->without = set_run_without(loaded->set, &run->record.row,
			start->has_specimen ? &start->specimen : NULL, run->record.fracture.type,
			run->record.outcome.strength_pa);
		for (size_t j = 0; j < i && !run->without; j++) {
			if (!loaded->runs[j].without && strcmp(report_specimen(&loaded->runs[j]),
								report_specimen(run)) == 0)
				run->without = set_run_second;
		}
	}
}

static enum store_status find_confirmation(struct store *store, struct report_run *run)
{
	const struct method *method = run->record.start.judged_by;
	if (!method)
		return STORE_OK;
	enum store_status status = store_method_confirmed(store, method, &run->confirmation);
	run->confirmed = status == STORE_OK;
	return status == STORE_NONE ? STORE_OK : status;
}

static bool take_verification(
	void *context, const struct verification *verification, const struct recorded *recorded)
{
	struct report_run *run = context;
	(void)recorded;
	if (verification->number != run->record.start.standing.verification)
		return true;
	strcpy(run->certificate, verification->certificate);
	return false;
}

static enum store_status find_beside(struct store *store, struct report_run *run)
{
	const struct run_start *start = &run->record.start;
	enum store_status status = STORE_OK;
	detail_init(&run->detail);
	if (start->has_specimen)
		status = store_detail_find(store, start->specimen.id, &run->detail);
	if (status == STORE_NONE)
		status = STORE_OK;
	if (status == STORE_OK)
		status = find_confirmation(store, run);
	if (status == STORE_OK && start->standing.verification)
		status = store_verifications_each(store, start->press, take_verification, run);
	return status;
}

static int load_run(
	const char *command, struct store *store, int64_t number, struct report_run *run)
{
	int code = stored_run(command, store, number, &run->record);
	if (code != EXIT_DONE)
		return code;
	enum store_status status = derive(store, run);
	if (status == STORE_OK)
		status = find_fractures(store, run);
	if (status == STORE_OK)
		status = find_beside(store, run);
	if (status == STORE_OK)
		use_fractures(run);
	if (status != STORE_OK)
		return stored_failed(command, store, status);
	const struct run_start *start = &run->record.start;
	run->curve = (struct run_curve){run->replay.samples,
		run->replay.outcome.method ? run->replay.sample_count : 0, start->origin,
		&run->replay.outcome};
	run->picture = (struct run_picture){.curve = &run->curve,
		.name = start->has_specimen ? start->specimen.id : "no specimen",
		.detail = words_verdict(run->replay.outcome.judgement.rate.verdict),
		.brief = true};
	return EXIT_DONE;
}

/* ---- all of them */

static bool one_method(const char *command, const struct report_runs *loaded)
{
	const struct run_record *first = &loaded->runs[0].record;
	for (size_t i = 1; i < loaded->count; i++) {
		const struct run_record *record = &loaded->runs[i].record;
		if (strcmp(record->start.method, first->start.method) == 0)
			continue;
		fprintf(stderr,
			"%s: runs %" PRId64 " and %" PRId64 " are of two methods; report "
			"them one by one\n",
			command, first->row.run, record->row.run);
		return false;
	}
	return true;
}

static int find_numbers(const char *command, struct store *store, const char *typed,
	const struct issued *only, const struct report_runs *loaded, struct numbers *found)
{
	if (only) {
		memcpy(found->numbers, only->runs, only->run_count * sizeof(*only->runs));
		found->count = only->run_count;
		return EXIT_DONE;
	}
	if (loaded->is_set)
		return find_set(command, store, typed, found);
	found->numbers[found->count++] = strtoll(typed, NULL, 10);
	return EXIT_DONE;
}

int report_runs_load(const char *command, struct store *store, const char *typed, bool as_set,
	const struct issued *only, struct report_runs *loaded)
{
	struct numbers found = {.count = 0};
	*loaded = (struct report_runs){.is_set = as_set || !is_number(typed)};
	snprintf(loaded->subject, sizeof(loaded->subject), "%s %.*s",
		loaded->is_set ? "set" : "run", STORE_NAME_SIZE - 1, typed);
	if (loaded->is_set)
		snprintf(loaded->set, sizeof(loaded->set), "%.*s", STORE_NAME_SIZE - 1, typed);
	int code = find_numbers(command, store, typed, only, loaded, &found);
	if (code != EXIT_DONE)
		return code;
	qsort(found.numbers, found.count, sizeof(*found.numbers), by_number);
	loaded->runs = calloc(found.count, sizeof(*loaded->runs));
	if (!loaded->runs) {
		fprintf(stderr, "%s: out of memory\n", command);
		return EXIT_CANNOT;
	}
	for (; loaded->count < found.count && code == EXIT_DONE; loaded->count++)
		code = load_run(
			command, store, found.numbers[loaded->count], &loaded->runs[loaded->count]);
	if (code == EXIT_DONE && !one_method(command, loaded))
		code = EXIT_CANNOT;
	if (code != EXIT_DONE)
		return code;
	decide_counting(loaded);
	const struct report_words none = {.laboratory = NULL};
	const struct report_content content = {
		loaded->subject, loaded->runs, loaded->count, &none, NULL};
	return loaded->is_set ? report_acceptance_find(
					command, store, loaded->set, &content, &loaded->acceptance)
			      : EXIT_DONE;
}

void report_runs_finish(struct report_runs *loaded)
{
	for (size_t i = 0; i < loaded->count; i++)
		replay_finish(&loaded->runs[i].replay);
	free(loaded->runs);
	*loaded = (struct report_runs){.runs = NULL};
}
