/* SPDX-License-Identifier: MIT */
#include "report_issued.h"

#include "commands.h"
#include "report_sheet.h"
#include "stored.h"
#include "table.h"
#include "words.h"

#include <errno.h>
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const struct {
	const char *text;
	enum sheet_format format;
} formats[] = {{"svg", SHEET_SVG}, {"pdf", SHEET_PDF}, {"png", SHEET_PNG}, {"html", SHEET_HTML},
	{"txt", SHEET_TXT}};

enum { FORMATS = sizeof(formats) / sizeof(*formats), CELL_SIZE = 48 };

void report_format_text(enum sheet_format format, char text[ISSUED_FORMAT_SIZE])
{
	for (size_t i = 0; i < FORMATS; i++) {
		if (formats[i].format == format)
			strcpy(text, formats[i].text);
	}
}

static bool format_of(const char *text, enum sheet_format *format)
{
	for (size_t i = 0; i < FORMATS; i++) {
		if (strcmp(formats[i].text, text) == 0) {
			*format = formats[i].format;
			return true;
		}
	}
	return false;
}

/* ---- the bytes */

static bool take(void *context, const void *bytes, size_t count)
{
	return fwrite(bytes, 1, count, context) == count;
}

static const char *said(const char *text)
{
	return text[0] ? text : NULL;
}

int report_file_make(const char *command, const struct report_runs *loaded,
	const struct issued_row *row, enum sheet_format format, struct report_file *file)
{
	const struct issued *issued = &row->issued;
	const struct run_record *last = &loaded->runs[loaded->count - 1].record;
	const struct report_words words = {.laboratory = said(issued->laboratory),
		.customer = said(issued->customer),
		.reviewer = said(issued->reviewer),
		.field = issued->field,
		.number = issued->number,
		.issued = issued->at,
		.issued_by = row->recorded.by.name,
		.replaces = issued->replaces,
		.reason = said(issued->reason)};
	const struct report_content content = {loaded->subject, loaded->runs, loaded->count, &words,
		loaded->is_set ? &loaded->acceptance : NULL};
	char created[CLOCKS_UTC_TEXT_SIZE];
	words_time(issued->number     ? issued->at
		   : last->row.closed ? last->ended
				      : last->start.started,
		created);
	*file = (struct report_file){.bytes = NULL};
	FILE *stream = open_memstream(&file->bytes, &file->count);
	struct sheet *sheet = report_sheet(&content);
	bool good = stream && sheet && sheet_write(sheet, created, format, take, stream);
	sheet_destroy(sheet);
	good = stream && fclose(stream) == 0 && good;
	if (!good)
		fprintf(stderr, "%s: out of memory\n", command);
	return good ? EXIT_DONE : EXIT_CANNOT;
}

void report_file_finish(struct report_file *file)
{
	free(file->bytes);
	*file = (struct report_file){.bytes = NULL};
}

/* ---- again */

static int find(const char *command, struct store *store, int64_t number, struct issued_row *row)
{
	enum store_status status = store_report_find(store, number, row);
	if (status == STORE_OK)
		return EXIT_DONE;
	if (status != STORE_NONE)
		return stored_failed(command, store, status);
	fprintf(stderr,
		"%s: there is no report %" PRId64 "; `ramplog report --list` lists those that "
		"there are\n",
		command, number);
	return EXIT_NO;
}

/* As it was issued, or not at all: a page with its number that says something else than the first
 * one would be a second report of that number. */
static int make_again(const char *command, const struct report_runs *loaded,
	const struct issued_row *row, enum sheet_format format, struct report_file *file)
{
	enum sheet_format own;
	char hash[ISSUED_HASH_SIZE];
	if (!format_of(row->issued.format, &own))
		own = SHEET_PDF;
	int code = report_file_make(command, loaded, row, own, file);
	if (code != EXIT_DONE)
		return code;
	store_file_hash(file->bytes, file->count, hash);
	if (strcmp(hash, row->issued.hash) != 0) {
		fprintf(stderr,
			"%s: report %" PRId64 " does not come out as it was issued: something was "
			"put right since, or this program or its fonts are others\n",
			command, row->issued.number);
		return EXIT_NO;
	}
	if (own == format)
		return EXIT_DONE;
	report_file_finish(file);
	return report_file_make(command, loaded, row, format, file);
}

int report_file_again(const char *command, struct store *store, int64_t number,
	enum sheet_format format, struct report_file *file)
{
	struct report_runs loaded = {.runs = NULL};
	struct issued_row row;
	*file = (struct report_file){.bytes = NULL};
	int code = find(command, store, number, &row);
	if (code == EXIT_DONE)
		code = report_runs_load(command, store, row.issued.subject, row.issued.is_set,
			&row.issued, &loaded);
	if (code == EXIT_DONE)
		code = make_again(command, &loaded, &row, format, file);
	report_runs_finish(&loaded);
	return code;
}

/* ---- is this one? */

static int hash_file(const char *command, const char *path, char hash[ISSUED_HASH_SIZE])
{
	char *bytes = NULL;
	size_t size = 0, count = 0, got = 0;
	FILE *file = fopen(path, "rb");
	bool good = file != NULL;
	while (good) {
		if (count == size) {
			size = size ? 2 * size : 1 << 16;
			char *grown = realloc(bytes, size);
			good = grown != NULL;
			bytes = grown ? grown : bytes;
		}
		got = good ? fread(bytes + count, 1, size - count, file) : 0;
		count += got;
		if (got == 0)
			break;
	}
	good = good && !ferror(file);
	if (good)
		store_file_hash(bytes, count, hash);
	else
		fprintf(stderr, "%s: %s cannot be read: %s\n", command, path, strerror(errno));
	if (file)
		fclose(file);
	free(bytes);
	return good ? EXIT_DONE : EXIT_CANNOT;
}

static void name_subject(const struct issued *issued)
{
	printf("%s %s", issued->is_set ? "set" : "run", issued->subject);
}

int report_check(const char *command, struct store *store, const char *path)
{
	char hash[ISSUED_HASH_SIZE], at[CLOCKS_UTC_TEXT_SIZE];
	struct issued_row row;
	int code = hash_file(command, path, hash);
	if (code != EXIT_DONE)
		return code;
	enum store_status status = store_report_with(store, hash, &row);
	if (status == STORE_NONE) {
		printf("%s is no report that was issued from this database, or not as it was "
		       "issued\n",
			path);
		return EXIT_NO;
	}
	if (status != STORE_OK)
		return stored_failed(command, store, status);
	words_minute(row.issued.at, at);
	printf("%s is report %" PRId64 " on ", path, row.issued.number);
	name_subject(&row.issued);
	printf(", as issued %s by %s", at, row.recorded.by.name);
	if (!row.replaced_by) {
		printf("; none replaces it\n");
		return EXIT_DONE;
	}
	printf("; report %" PRId64 " REPLACES it\n", row.replaced_by);
	return EXIT_NO;
}

/* ---- all of them */

static bool put_row(void *context, const struct issued_row *row)
{
	const struct issued *issued = &row->issued;
	char number[CELL_SIZE], at[CLOCKS_UTC_TEXT_SIZE], replaced[CELL_SIZE] = "-";
	struct table *table = context;
	snprintf(number, sizeof(number), "%" PRId64, issued->number);
	words_minute(issued->at, at);
	if (row->replaced_by)
		snprintf(replaced, sizeof(replaced), "%" PRId64, row->replaced_by);
	const char *const cells[] = {number, at, issued->is_set ? "set" : "run", issued->subject,
		row->recorded.by.name, issued->format, replaced,
		issued->reason[0] ? issued->reason : "-"};
	for (size_t i = 0; i < sizeof(cells) / sizeof(*cells); i++)
		table_add(table, cells[i]);
	return true;
}

int report_list(const char *command, struct store *store)
{
	static const char *const heads[] = {
		"report", "issued", "of", "", "by", "file", "replaced by", "amended because"};
	struct table table;
	table_init(&table, "rllwwlrw");
	for (size_t i = 0; i < sizeof(heads) / sizeof(*heads); i++)
		table_add(&table, heads[i]);
	enum store_status status = store_reports_each(store, put_row, &table);
	if (status == STORE_OK)
		table_print(&table, stdout);
	table_finish(&table);
	return status == STORE_OK ? EXIT_DONE : stored_failed(command, store, status);
}
