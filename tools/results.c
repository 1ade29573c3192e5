/* SPDX-License-Identifier: MIT
 *
 * Cells as RFC 4180 has them; what is null is empty. Times are UTC, or seconds from the run's first
 * reading.
 */
#include "results.h"

#include "commands.h"
#include "stored.h"
#include "wire/outcome_json.h"

#include <stdlib.h>
#include <string.h>

/* A column: where in the object it stands. within NULL: at the top. */
struct result_column {
	const char *name;
	const char *within, *key;
};

static const struct result_column columns[] = {
	{"run", NULL, "run"},
	{"press", NULL, "press"},
	{"started", NULL, "started"},
	{"specimen", NULL, "specimen"},
	{"set", NULL, "set"},
	{"method", NULL, "method"},
	{"end", NULL, "end"},
	{"maximum_load_n", NULL, "maximum_load_n"},
	{"maximum_load_time_s", NULL, "maximum_load_time_s"},
	{"area_mm2", NULL, "area_mm2"},
	{"strength_mpa", NULL, "strength_mpa"},
	{"strength_reported", NULL, "strength_reported"},
	{"basis", NULL, "basis"},
	{"rate_verdict", "rate", "verdict"},
	{"rate_reason", "rate", "reason"},
	{"rate_band_low_mpa_s", "rate", "band_low_mpa_s"},
	{"rate_band_high_mpa_s", "rate", "band_high_mpa_s"},
	{"rate_judged_from_s", "rate", "judged_from_s"},
	{"rate_judged_to_s", "rate", "judged_to_s"},
	{"rate_mean_mpa_s", "rate", "mean_mpa_s"},
	{"rate_lowest_mpa_s", "rate", "lowest_mpa_s"},
	{"rate_highest_mpa_s", "rate", "highest_mpa_s"},
	{"rate_uncertainty_mpa_s", "rate", "uncertainty_mpa_s"},
	{"rate_outside_s", "rate", "outside_s"},
	{"fracture", NULL, "fracture"},
	{"voided", NULL, "voided"},
	{"reportable", NULL, "reportable"},
	{"not_reportable", NULL, "not_reportable"},
	{"specimen_corrected", NULL, "specimen_corrected"},
	{"set_corrected", NULL, "set_corrected"},
	{"strength_corrected_mpa", NULL, "strength_corrected_mpa"},
	{"strength_corrected_reported", NULL, "strength_corrected_reported"},
	{"verdict_corrected", NULL, "verdict_corrected"},
	{"samples", NULL, "samples"},
	{"readings", NULL, "readings"},
};

enum { COLUMN_COUNT = sizeof(columns) / sizeof(columns[0]) };

void results_put_head(FILE *out)
{
	for (size_t i = 0; i < COLUMN_COUNT; i++)
		fprintf(out, "%s%s", i ? "," : "", columns[i].name);
	fputc('\n', out);
}

static void put_text(FILE *out, const char *text)
{
	if (!strpbrk(text, ",\"\r\n")) {
		fputs(text, out);
		return;
	}
	fputc('"', out);
	for (; *text; text++) {
		if (*text == '"')
			fputc('"', out);
		fputc(*text, out);
	}
	fputc('"', out);
}

static void put_value(FILE *out, const json_t *value)
{
	if (json_is_string(value)) {
		put_text(out, json_string_value(value));
		return;
	}
	/* Booleans and numbers as JSON writes them. */
	char *text = value && !json_is_null(value)
			     ? json_dumps(value, OUTCOME_JSON_FLAGS | JSON_ENCODE_ANY)
			     : NULL;
	if (text)
		fputs(text, out);
	free(text);
}

void results_put_row(FILE *out, const json_t *run)
{
	for (size_t i = 0; i < COLUMN_COUNT; i++) {
		const struct result_column *column = &columns[i];
		const json_t *within = column->within ? json_object_get(run, column->within) : run;
		if (i > 0)
			fputc(',', out);
		put_value(out, json_object_get(within, column->key));
	}
	fputc('\n', out);
}

static void put_object(FILE *out, const json_t *run, bool first)
{
	fputs(first ? "[\n" : ",\n", out);
	json_dumpf(run, out, OUTCOME_JSON_FLAGS);
}

static int take_run(const char *command, struct store *store, int64_t run, json_t **result)
{
	struct run_record record;
	int code = stored_run(command, store, run, &record);
	if (code != EXIT_DONE)
		return code;
	enum store_status status = stored_run_json(store, &record, result);
	return status == STORE_OK ? EXIT_DONE : stored_failed(command, store, status);
}

int results_put(const char *command, struct store *store, bool csv, const int64_t *runs,
	size_t count, FILE *out)
{
	if (csv)
		results_put_head(out);
	else if (count == 0)
		fputs("[", out);
	for (size_t i = 0; i < count; i++) {
		json_t *result = NULL;
		int code = take_run(command, store, runs[i], &result);
		if (code == EXIT_DONE && csv)
			results_put_row(out, result);
		else if (code == EXIT_DONE)
			put_object(out, result, i == 0);
		json_decref(result);
		if (code != EXIT_DONE)
			return code;
	}
	if (!csv)
		fputs(count > 0 ? "\n]\n" : "]\n", out);
	return EXIT_DONE;
}
