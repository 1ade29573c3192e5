/* SPDX-License-Identifier: MIT
 *
 * The curve file's parser: one pass, one record at a time, cells as RFC 4180 has them (a cell in
 * quotes may hold commas, doubled quotes and line ends). Every row must have as many cells as the
 * header: a decimal comma would otherwise pass as a column more.
 * It does not know files, and it does not judge whether a curve makes sense.
 */
#include "measure/curve.h"

#include "base/units.h"

#include <assert.h>
#include <limits.h>
#include <stdlib.h>
#include <string.h>

/* Widest cell shown in a message. */
enum { SHOWN_SIZE = 32 };

struct cell {
	const char *start;
	size_t length;
};

struct parser {
	const char *name;
	const char *at, *end;
	size_t line;      /* of the record being read, from 1 */
	size_t next_line; /* of the record after it */
	bool record_ended;
	size_t column_count;
	size_t time_column, load_column;
	const char *load_name;
	enum unit load_unit;
	int step_exponent; /* smallest exponent of a load so far */
	struct cell last_time;
	struct message *why;
};

static const struct {
	const char *name;
	enum unit unit;
} load_columns[] = {
	{"load_n", UNIT_NEWTON},
	{"load_kn", UNIT_KILONEWTON},
	{"load_lbf", UNIT_POUND_FORCE},
};

enum { LOAD_COLUMN_COUNT = sizeof(load_columns) / sizeof(load_columns[0]) };

/* A cell as it may be printed: cut, and without bytes that a terminal would act upon. */
struct shown {
	char text[SHOWN_SIZE];
};

static struct shown show(struct cell cell)
{
	struct shown shown;
	size_t length = cell.length < SHOWN_SIZE - 1 ? cell.length : SHOWN_SIZE - 1;
	for (size_t i = 0; i < length; i++) {
		char c = cell.start[i];
		shown.text[i] = c >= ' ' && c <= '~' ? c : '?';
	}
	shown.text[length] = '\0';
	return shown;
}

static bool is_blank(char c)
{
	return c == ' ' || c == '\t';
}

static struct cell trim(struct cell cell)
{
	while (cell.length > 0 && is_blank(cell.start[0])) {
		cell.start++;
		cell.length--;
	}
	while (cell.length > 0 && is_blank(cell.start[cell.length - 1]))
		cell.length--;
	return cell;
}

/* Passes the end of a record: LF, CR LF or the end of the text. */
static bool take_record_end(struct parser *parser)
{
	if (parser->at < parser->end && parser->at[0] != '\n' &&
		!(parser->at[0] == '\r' && parser->end - parser->at > 1 && parser->at[1] == '\n'))
		return false;
	if (parser->at < parser->end) {
		parser->at += parser->at[0] == '\r' ? 2 : 1;
		parser->next_line++;
	}
	parser->record_ended = true;
	return true;
}

/* Passes what stands between two quotes; the quotes stay in the cell. */
static bool take_quoted(struct parser *parser)
{
	for (parser->at++; parser->at < parser->end; parser->at++) {
		if (parser->at[0] == '\n')
			parser->next_line++;
		if (parser->at[0] != '"')
			continue;
		parser->at++;
		if (parser->at == parser->end || parser->at[0] != '"')
			return true;
	}
	return message_set(parser->why, "%s:%zu: a cell opens with a quote that is never closed",
		parser->name, parser->line);
}

/* Reads the next cell of the record, and the comma or the record's end after it. */
static bool take_cell(struct parser *parser, struct cell *cell)
{
	const char *start = parser->at;
	if (parser->at < parser->end && parser->at[0] == '"' && !take_quoted(parser))
		return false;
	for (;; parser->at++) {
		size_t length = (size_t)(parser->at - start);
		if (!take_record_end(parser)) {
			if (parser->at[0] != ',')
				continue;
			parser->at++;
		}
		*cell = trim((struct cell){start, length});
		break;
	}
	if (cell->length >= 2 && cell->start[0] == '"' && cell->start[cell->length - 1] == '"')
		*cell = trim((struct cell){cell->start + 1, cell->length - 2});
	return true;
}

static void skip_line(struct parser *parser)
{
	const char *newline = memchr(parser->at, '\n', (size_t)(parser->end - parser->at));
	parser->at = newline ? newline + 1 : parser->end;
	parser->next_line++;
}

/* Goes to the next record that is neither empty nor a comment; false at the end of the text. */
static bool next_record(struct parser *parser)
{
	while (parser->at < parser->end) {
		const char *at = parser->at;
		while (at < parser->end && (is_blank(*at) || *at == '\r'))
			at++;
		if (at < parser->end && *at != '\n' && *parser->at != '#') {
			parser->line = parser->next_line;
			parser->record_ended = false;
			return true;
		}
		skip_line(parser);
	}
	return false;
}

static bool is_named(struct cell cell, const char *name)
{
	return strlen(name) == cell.length && memcmp(cell.start, name, cell.length) == 0;
}

static bool header_cell(struct parser *parser, struct cell cell, size_t column)
{
	if (is_named(cell, "time_s")) {
		if (parser->time_column != SIZE_MAX)
			return message_set(parser->why, "%s:%zu: the column time_s stands twice",
				parser->name, parser->line);
		parser->time_column = column;
	}
	for (size_t i = 0; i < LOAD_COLUMN_COUNT; i++) {
		if (!is_named(cell, load_columns[i].name))
			continue;
		if (parser->load_column != SIZE_MAX)
			return message_set(parser->why,
				"%s:%zu: %s and %s: which column is the load? Leave one of them",
				parser->name, parser->line, parser->load_name,
				load_columns[i].name);
		parser->load_column = column;
		parser->load_name = load_columns[i].name;
		parser->load_unit = load_columns[i].unit;
	}
	return true;
}

static bool parse_header(struct parser *parser)
{
	if (!next_record(parser))
		return message_set(parser->why,
			"%s: nothing in it: the first line must name the columns, "
			"e.g. time_s,load_kn",
			parser->name);
	while (!parser->record_ended) {
		struct cell cell;
		if (!take_cell(parser, &cell) || !header_cell(parser, cell, parser->column_count))
			return false;
		parser->column_count++;
	}
	if (parser->time_column == SIZE_MAX || parser->load_column == SIZE_MAX)
		return message_set(parser->why,
			"%s:%zu: no column %s: the first line must name the columns, "
			"with commas between them, e.g. time_s,load_kn (or load_n, load_lbf)",
			parser->name, parser->line,
			parser->time_column == SIZE_MAX ? "time_s" : "load_kn, load_n or load_lbf");
	return true;
}

/* Reads a record's cells and keeps the two that count. */
static bool take_record(struct parser *parser, struct cell *time, struct cell *load)
{
	size_t count = 0;
	for (; !parser->record_ended; count++) {
		struct cell cell;
		if (!take_cell(parser, &cell))
			return false;
		if (count == parser->time_column)
			*time = cell;
		if (count == parser->load_column)
			*load = cell;
	}
	if (count != parser->column_count)
		return message_set(parser->why,
			"%s:%zu: %zu cells where the header names %zu columns "
			"(a decimal comma? use a point)",
			parser->name, parser->line, count, parser->column_count);
	return true;
}

static bool parse_number(
	struct parser *parser, const char *column, struct cell cell, struct decimal *value)
{
	if (decimal_parse(cell.start, cell.length, value))
		return true;
	if (cell.length == 0)
		return message_set(
			parser->why, "%s:%zu: %s is empty", parser->name, parser->line, column);
	return message_set(parser->why,
		"%s:%zu: %s \"%s\" is not a decimal number of at most 18 digits", parser->name,
		parser->line, column, show(cell).text);
}

static bool parse_time(
	struct parser *parser, struct cell cell, struct curve *curve, struct mono_time *time)
{
	struct decimal value;
	if (!parse_number(parser, "time_s", cell, &value))
		return false;
	if (value.mantissa < 0)
		return message_set(parser->why, "%s:%zu: time_s %s is negative: times start at 0",
			parser->name, parser->line, show(cell).text);
	if (!decimal_scaled(value, 9, &time->ns))
		return message_set(parser->why, "%s:%zu: time_s %s is beyond 292 years",
			parser->name, parser->line, show(cell).text);
	if (curve->count > 0 && time->ns <= curve->samples[curve->count - 1].time.ns)
		return message_set(parser->why,
			"%s:%zu: time_s %s does not come after %s: times must increase",
			parser->name, parser->line, show(cell).text, show(parser->last_time).text);
	parser->last_time = cell;
	return true;
}

static bool parse_load(struct parser *parser, struct cell cell, int64_t *load_un)
{
	struct decimal value;
	if (!parse_number(parser, parser->load_name, cell, &value))
		return false;
	if (!units_load_un(parser->load_unit, value, load_un))
		return message_set(parser->why, "%s:%zu: %s %s is beyond 100 MN: another unit?",
			parser->name, parser->line, parser->load_name, show(cell).text);
	if (value.exponent < parser->step_exponent)
		parser->step_exponent = value.exponent;
	return true;
}

static bool parse_rows(struct parser *parser, struct curve *curve)
{
	while (next_record(parser)) {
		struct cell time = {0}, load = {0};
		struct sample sample = {0};
		if (!take_record(parser, &time, &load) ||
			!parse_time(parser, time, curve, &sample.time) ||
			!parse_load(parser, load, &sample.load_un))
			return false;
		curve->samples[curve->count++] = sample;
	}
	if (curve->count == 0)
		return message_set(parser->why,
			"%s: no row below the header: a curve needs samples", parser->name);
	return true;
}

static size_t count_lines(const char *text, size_t length)
{
	size_t count = 1;
	for (size_t i = 0; i < length; i++)
		count += text[i] == '\n';
	return count;
}

bool curve_parse(
	const char *name, const char *text, size_t length, struct curve *curve, struct message *why)
{
	struct parser parser = {
		.name = name,
		.at = text,
		.end = text + length,
		.next_line = 1,
		.time_column = SIZE_MAX,
		.load_column = SIZE_MAX,
		.step_exponent = INT_MAX,
		.why = why,
	};
	*curve = (struct curve){0};
	const char *nul = length > 0 ? memchr(text, '\0', length) : NULL;
	if (nul)
		return message_set(why, "%s:%zu: a NUL byte: this is no text file", name,
			count_lines(text, (size_t)(nul - text)));
	if (length >= 3 && memcmp(text, "\xef\xbb\xbf", 3) == 0)
		parser.at += 3;
	if (!parse_header(&parser))
		return false;
	/* A row takes a line at least, so that this is enough. */
	curve->samples = calloc(count_lines(text, length), sizeof(*curve->samples));
	if (!curve->samples)
		return message_set(why, "%s: not enough memory for its samples", name);
	if (!parse_rows(&parser, curve)) {
		curve_finish(curve);
		return false;
	}
	if (!units_load_un(
		    parser.load_unit, (struct decimal){1, parser.step_exponent}, &curve->step_un) ||
		curve->step_un == 0)
		curve->step_un = 1;
	return true;
}

void curve_finish(struct curve *curve)
{
	free(curve->samples);
	*curve = (struct curve){0};
}
