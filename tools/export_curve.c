/* SPDX-License-Identifier: MIT
 *
 * One walk over the run, one writer per format. The CSV is what `ramplog assess` reads
 * (measure/curve.h).
 */
#include "export_curve.h"

#include "base/text.h"
#include "stored.h"
#include "wire/outcome_json.h"

#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

/* What a format does with the parts of a run, in this order. */
struct writer {
	const char *name;
	void (*head)(FILE *out, const char *name, const char *value);
	/* A list of entries, none or several. */
	void (*entries)(FILE *out, const char *name, const char *one, const json_t *list);
	void (*begin_samples)(FILE *out);
	void (*sample)(
		FILE *out, const char *time_s, const char *load_n, bool over_range, bool first);
	void (*end)(FILE *out);
};

static void csv_head(FILE *out, const char *name, const char *value)
{
	/* A line break in a name would end the comment. */
	fprintf(out, "# %s: ", name);
	for (; *value; value++)
		fputc((unsigned char)*value < ' ' ? ' ' : *value, out);
	fputc('\n', out);
}

/* Each as one line, as JSON: exact, and for people too. */
static void csv_entries(FILE *out, const char *name, const char *one, const json_t *list)
{
	size_t i;
	json_t *entry;
	(void)name;
	json_array_foreach(list, i, entry)
	{
		char *text = json_dumps(entry, OUTCOME_JSON_FLAGS);
		fprintf(out, "# %s: %s\n", one, text ? text : "");
		free(text);
	}
}

static void csv_begin_samples(FILE *out)
{
	fputs("time_s,load_n,over_range\n", out);
}

static void csv_sample(
	FILE *out, const char *time_s, const char *load_n, bool over_range, bool first)
{
	(void)first;
	fprintf(out, "%s,%s,%d\n", time_s, load_n, over_range);
}

static void csv_end(FILE *out)
{
	(void)out;
}

static void json_head(FILE *out, const char *name, const char *value)
{
	char quoted[STORE_PATH_SIZE * 6 + 3];
	struct text text;
	text_init(&text, quoted, sizeof(quoted));
	text_json_string(&text, value);
	fprintf(out, "%s\"%s\": %s", strcmp(name, "run") == 0 ? "{" : ",\n ", name, quoted);
}

static void json_entries(FILE *out, const char *name, const char *one, const json_t *list)
{
	(void)one;
	fprintf(out, ",\n \"%s\": ", name);
	json_dumpf(list, out, OUTCOME_JSON_FLAGS);
}

static void json_begin_samples(FILE *out)
{
	fputs(",\n \"columns\": [\"time_s\", \"load_n\", \"over_range\"],\n \"samples\": [", out);
}

static void json_sample(
	FILE *out, const char *time_s, const char *load_n, bool over_range, bool first)
{
	fprintf(out, "%s\n  [%s, %s, %s]", first ? "" : ",", time_s, load_n,
		over_range ? "true" : "false");
}

static void json_end(FILE *out)
{
	fputs("\n ]}\n", out);
}

static const struct writer writers[] = {
	{"csv", csv_head, csv_entries, csv_begin_samples, csv_sample, csv_end},
	{"json", json_head, json_entries, json_begin_samples, json_sample, json_end},
	{0},
};

void export_decimal(int64_t scaled, int places, char text[24])
{
	size_t length = decimal_text(scaled, places, text);
	while (length > 0 && text[length - 1] == '0')
		text[--length] = '\0';
	if (length > 0 && text[length - 1] == '.')
		text[--length] = '\0';
}

static void write_head(const struct writer *writer, const struct run_record *record, FILE *out)
{
	char number[24], started[CLOCKS_UTC_TEXT_SIZE];
	snprintf(number, sizeof(number), "%" PRId64, record->row.run);
	clocks_utc_text(record->row.started, started);
	writer->head(out, "run", number);
	writer->head(out, "press", record->row.press);
	writer->head(out, "specimen", record->row.specimen);
	writer->head(out, "method", record->row.method);
	writer->head(out, "started", started);
	if (record->row.closed) {
		writer->head(out, "end", end_text(record->row.end));
		writer->head(out, "strength_reported", record->row.strength_reported);
		writer->head(out, "verdict", verdict_text(record->row.verdict));
		struct message why;
		bool reportable =
			standing_reportable(&record->start.standing, record->row.maximum_un, &why);
		writer->head(out, "reportable", reportable ? "yes" : "no");
		if (!reportable)
			writer->head(out, "not_reportable", why.text);
	}
	writer->head(out, "program", record->start.program);
	if (record->row.corrected) {
		writer->head(out, "specimen_corrected", record->row.specimen_corrected);
		writer->head(out, "strength_corrected", record->row.strength_corrected);
		writer->head(out, "verdict_corrected", verdict_text(record->row.verdict_corrected));
	}
	writer->head(out, "voided", record->row.voided ? "yes" : "no");
}

static void write_samples(const struct writer *writer, const struct run_record *record,
	const struct replay *replay, FILE *out)
{
	writer->begin_samples(out);
	for (size_t i = 0; i < replay->sample_count; i++) {
		const struct sample *sample = &replay->samples[i];
		char time_s[24], load_n[24];
		export_decimal(sample->time.ns - record->start.origin.ns, 9, time_s);
		export_decimal(sample->load_un, 6, load_n);
		writer->sample(out, time_s, load_n, sample->flags & SAMPLE_OVER_RANGE, i == 0);
	}
	writer->end(out);
}

bool export_curve_knows(const char *format)
{
	const struct writer *writer = writers;
	while (writer->name && strcmp(writer->name, format) != 0)
		writer++;
	return writer->name;
}

enum store_status export_curve_put(const char *format, struct store *store,
	const struct run_record *record, const struct replay *replay, FILE *out)
{
	json_t *fractures, *corrections;
	const struct writer *writer = writers;
	while (strcmp(writer->name, format) != 0)
		writer++;
	enum store_status status = stored_entries(store, record, &fractures, &corrections);
	if (status == STORE_OK) {
		write_head(writer, record, out);
		writer->entries(out, "fractures", "fracture", fractures);
		writer->entries(out, "corrections", "correction", corrections);
		write_samples(writer, record, replay, out);
	}
	json_decref(fractures);
	json_decref(corrections);
	return status;
}
