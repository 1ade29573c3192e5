/* SPDX-License-Identifier: MIT
 *
 * Cells are separated by commas or semicolons, whichever the first line has; one that holds the
 * separator stands in quotes (RFC 4180). A file is one day's: where its specimens are of one lot of
 * moulds, those that are measured, here or before on that day, may stand for those that are not.
 */
#include "register_csv.h"

#include "commands.h"
#include "lot.h"
#include "register_write.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
	ROWS_MAX = 2000, /* a day of the largest laboratory, many times over */
	COLUMNS_MAX = 40,
	LINE_SIZE = 4096,
	COLUMN_ID = -1,
};

struct row {
	struct registration registration;
	int line;
	bool bad; /* and its error was told */
};

struct csv {
	const struct writing *writing;
	const char *path;
	char separator;
	int columns[COLUMNS_MAX]; /* index into registration_fields, or COLUMN_ID */
	char names[COLUMNS_MAX][32];
	size_t column_count;
	struct row *rows; /* owned */
	size_t row_count;
	size_t error_count;
};

/* ---- telling */

static void complain(struct csv *csv, int line, const char *column, const char *why)
{
	csv->error_count++;
	fprintf(stderr, "%s:%d: %s%s%s\n", csv->path, line, column, column[0] ? ": " : "", why);
}

static void complain_row(struct csv *csv, struct row *row, const char *why)
{
	row->bad = true;
	complain(csv, row->line, row->registration.specimen.id, why);
}

/* ---- reading */

/* Takes the next cell out of the line; false: the line has no more. Quotes are taken off. */
static bool next_cell(char **rest, char separator, char **cell, bool *good)
{
	char *from = *rest, *to;
	if (!from)
		return false;
	*cell = to = from;
	bool quoted = *from == '"';
	if (quoted)
		from++;
	while (*from && (quoted || *from != separator)) {
		if (quoted && *from == '"' && from[1] != '"') {
			quoted = false;
			from++;
			continue;
		}
		from += quoted && *from == '"';
		*to++ = *from++;
	}
	*good = !quoted;
	*rest = *from ? from + 1 : NULL;
	*to = '\0';
	return true;
}

/* Without the blanks around it. */
static char *trimmed(char *cell)
{
	cell += strspn(cell, " \t");
	for (size_t length = strlen(cell); length > 0 && strchr(" \t", cell[length - 1]);)
		cell[--length] = '\0';
	return cell;
}

static bool find_column(const char *name, int *column)
{
	char as_option[32];
	snprintf(as_option, sizeof as_option, "%s", name);
	for (char *at = as_option; *at; at++)
		*at = *at == '_' ? '-' : *at;
	*column = COLUMN_ID;
	if (strcmp(as_option, "id") == 0)
		return true;
	for (int i = 0; registration_fields[i].name; i++) {
		if (strcmp(registration_fields[i].name, as_option) == 0) {
			*column = i;
			return true;
		}
	}
	return false;
}

static void read_head(struct csv *csv, char *line)
{
	char *rest = line, *cell;
	bool good, has_id = false;
	csv->separator = strchr(line, ';') && !strchr(line, ',') ? ';' : ',';
	while (next_cell(&rest, csv->separator, &cell, &good)) {
		int column;
		cell = trimmed(cell);
		if (csv->column_count == COLUMNS_MAX) {
			complain(csv, 1, "", "too many columns");
			return;
		}
		if (!find_column(cell, &column))
			complain(csv, 1, cell,
				"no such column: they are called id and like the options of "
				"`ramplog register --help`");
		has_id = has_id || column == COLUMN_ID;
		csv->columns[csv->column_count] = column;
		snprintf(csv->names[csv->column_count++], sizeof csv->names[0], "%s", cell);
	}
	if (!has_id)
		complain(csv, 1, "", "there is no column id");
}

static void take_cell(struct csv *csv, struct row *row, size_t column, char *cell)
{
	struct specimen *specimen = &row->registration.specimen;
	struct message why;
	bool good = true;
	if (!cell[0])
		return;
	if (csv->columns[column] >= 0)
		good = registration_take(
			&row->registration, (size_t)csv->columns[column], cell, &why);
	else if (strlen(cell) < sizeof specimen->id)
		strcpy(specimen->id, cell);
	else
		good = message_set(
			&why, "'%.60s' is longer than %zu bytes", cell, sizeof specimen->id - 1);
	if (good)
		return;
	row->bad = true;
	complain(csv, row->line, csv->names[column], why.text);
}

static void read_row(struct csv *csv, const struct registration *defaults, char *line, int number)
{
	struct row *row = &csv->rows[csv->row_count++];
	char *rest = line, *cell;
	size_t column = 0;
	bool good = true;
	*row = (struct row){.registration = *defaults, .line = number};
	for (; next_cell(&rest, csv->separator, &cell, &good); column++) {
		if (column < csv->column_count && good)
			take_cell(csv, row, column, trimmed(cell));
	}
	if (!good)
		complain_row(csv, row, "a quotation mark is not closed");
	else if (column != csv->column_count)
		complain_row(csv, row, "has not as many cells as the first line has columns");
	else if (!row->registration.specimen.id[0] && !row->bad)
		complain_row(csv, row, "id: which specimen? The cell is empty");
}

/* The line without its end. False: the file has no more. */
static bool next_line(struct csv *csv, FILE *file, char *line, int *number)
{
	if (!fgets(line, LINE_SIZE, file))
		return false;
	++*number;
	size_t length = strlen(line);
	if (length == LINE_SIZE - 1 && line[length - 1] != '\n')
		complain(csv, *number, "", "the line is too long");
	while (length > 0 && strchr("\r\n", line[length - 1]))
		line[--length] = '\0';
	return true;
}

static void read_file(struct csv *csv, const struct registration *defaults, FILE *file)
{
	static const char mark[] = "\xef\xbb\xbf"; /* which some programs put before UTF-8 */
	char line[LINE_SIZE];
	int number = 0;
	if (!next_line(csv, file, line, &number)) {
		complain(csv, 1, "", "the file is empty: its first line names the columns");
		return;
	}
	read_head(csv, strncmp(line, mark, 3) == 0 ? line + 3 : line);
	if (csv->error_count > 0)
		return; /* rows mean nothing under such a head */
	while (next_line(csv, file, line, &number)) {
		if (!line[strspn(line, " \t,;")])
			continue;
		if (csv->row_count == ROWS_MAX) {
			complain(csv, number, "", "more rows than a day has: split the file");
			return;
		}
		read_row(csv, defaults, line, number);
	}
}

/* ---- reduced measuring */

/* The mean widths of a lot's measured rows; gives how many rows the lot has. */
static size_t gather_lot(const struct csv *csv, size_t first, int64_t *widths, size_t *measured)
{
	const struct registration *like = &csv->rows[first].registration;
	size_t count = 0;
	*measured = 0;
	for (size_t i = 0; i < csv->row_count; i++) {
		const struct registration *row = &csv->rows[i].registration;
		if (strcmp(row->detail.lot, like->detail.lot) != 0 ||
			strcmp(row->specimen.method, like->specimen.method) != 0)
			continue;
		count++;
		if (row->has_shape)
			widths[(*measured)++] =
				detail_mean_um(row->detail.widths_um, row->detail.width_count);
	}
	return count;
}

/* All of the lot get the mean; what was measured stays with its specimen. */
static void use_mean(struct csv *csv, size_t first, int64_t mean_um)
{
	const struct registration like = csv->rows[first].registration;
	for (size_t i = first; i < csv->row_count; i++) {
		struct registration *row = &csv->rows[i].registration;
		if (strcmp(row->detail.lot, like.detail.lot) != 0 ||
			strcmp(row->specimen.method, like.specimen.method) != 0)
			continue;
		lot_set_mean(row, mean_um);
	}
}

/* What is in the file and what was registered today, together. */
static bool find_mean(
	const struct csv *csv, size_t first, int64_t *widths, int64_t *mean_um, struct message *why)
{
	const struct registration *like = &csv->rows[first].registration;
	struct lot lot;
	size_t measured, count = gather_lot(csv, first, widths, &measured);
	bool good = lot_load(csv->writing->database, like, &lot, why);
	if (good)
		lot_add_measured(&lot, widths, &measured);
	good = good && detail_reduced(method_find(like->specimen.method), widths, measured,
			       count + lot.count, mean_um, why);
	lot_finish(&lot);
	return good;
}

/* Those that were registered before, after the rows are. */
static int correct_others(struct csv *csv, struct writing *writing)
{
	int code = EXIT_DONE;
	for (size_t i = 0; i < csv->row_count && code == EXIT_DONE; i++) {
		const struct registration *row = &csv->rows[i].registration;
		struct lot lot;
		struct message why;
		bool first = row->detail.reduced;
		for (size_t j = 0; j < i && first; j++)
			first = strcmp(csv->rows[j].registration.detail.lot, row->detail.lot) != 0;
		if (!first)
			continue;
		if (lot_load(writing->database, row, &lot, &why)) {
			code = lot_use_mean(writing, &lot, row->specimen.width_um[0]);
		} else {
			fprintf(stderr, "%s: %s\n", writing->command, why.text);
			code = EXIT_CANNOT;
		}
		lot_finish(&lot);
	}
	return code;
}

static void reduce(struct csv *csv)
{
	int64_t *widths = calloc(csv->row_count + LOT_MAX, sizeof *widths);
	for (size_t i = 0; widths && i < csv->row_count; i++) {
		struct row *row = &csv->rows[i];
		const struct method *method = method_find(row->registration.specimen.method);
		int64_t mean_um = 0;
		struct message why;
		if (row->bad || !method || !registration_is_unmeasured(&row->registration))
			continue;
		size_t first = 0; /* of the lot */
		while (strcmp(csv->rows[first].registration.detail.lot,
			       row->registration.detail.lot) != 0 ||
			strcmp(csv->rows[first].registration.specimen.method,
				row->registration.specimen.method) != 0)
			first++;
		if (find_mean(csv, i, widths, &mean_um, &why))
			use_mean(csv, first, mean_um);
		else
			complain_row(csv, row, why.text);
	}
	free(widths);
}

/* ---- checking and writing */

static void check_rows(struct csv *csv)
{
	for (size_t i = 0; i < csv->row_count; i++) {
		struct row *row = &csv->rows[i];
		struct message why;
		if (row->bad)
			continue;
		if (!registration_finish(&row->registration, &why)) {
			complain_row(csv, row, why.text);
			continue;
		}
		for (size_t j = 0; j < i && !row->bad; j++) {
			if (strcmp(row->registration.specimen.id,
				    csv->rows[j].registration.specimen.id) == 0)
				complain_row(csv, row, "an earlier line has the same id");
		}
	}
}

/* What only the database knows: ids that are taken, uses of pads. Where it cannot be read, the
 * daemon still refuses what is wrong. */
static void check_stored(struct csv *csv)
{
	struct store *store;
	struct message why;
	if (store_open(&store, csv->writing->database, STORE_READ, &why) != STORE_OK)
		return;
	for (size_t i = 0; i < csv->row_count; i++) {
		struct row *row = &csv->rows[i];
		struct detail_flags flags;
		if (!row->bad && store_register_check(store, &row->registration.specimen,
					 &row->registration.detail, "", &flags) != STORE_OK)
			complain_row(csv, row, store_error(store));
	}
	store_close(store);
}

static int write_rows(struct csv *csv, struct writing *writing)
{
	for (size_t i = 0; i < csv->row_count; i++) {
		int code = register_write(writing, &csv->rows[i].registration);
		if (code == EXIT_DONE)
			continue;
		fprintf(stderr,
			"%s:%d: not registered; the %zu rows before it are: take them out of the "
			"file before you try again\n",
			csv->path, csv->rows[i].line, i);
		return code;
	}
	printf("%zu specimens are registered\n", csv->row_count);
	return correct_others(csv, writing);
}

static int take_file(
	struct csv *csv, struct writing *writing, const struct registration *defaults, FILE *file)
{
	read_file(csv, defaults, file);
	reduce(csv);
	check_rows(csv);
	check_stored(csv);
	if (csv->error_count == 0 && csv->row_count == 0)
		complain(csv, 1, "", "there is no row below the names of the columns");
	if (csv->error_count == 0)
		return write_rows(csv, writing);
	fprintf(stderr, "%s: nothing is registered: %zu error%s\n", writing->command,
		csv->error_count, csv->error_count == 1 ? "" : "s");
	return EXIT_CANNOT;
}

int register_csv(struct writing *writing, const struct registration *defaults, const char *path)
{
	struct csv csv = {.writing = writing, .path = path};
	FILE *file = fopen(path, "re");
	if (!file) {
		fprintf(stderr, "%s: %s: %s\n", writing->command, path, strerror(errno));
		return EXIT_CANNOT;
	}
	csv.rows = calloc(ROWS_MAX, sizeof *csv.rows);
	int code = csv.rows ? take_file(&csv, writing, defaults, file) : EXIT_CANNOT;
	free(csv.rows);
	fclose(file);
	return code;
}
