/* SPDX-License-Identifier: MIT
 *
 * Fills a database with so many short runs, each of a specimen that was registered and seated,
 * judged, closed and sealed like real ones, its fracture entered, to see how lists and starts
 * behave when a laboratory has been at it for decades: `fill FILE RUNS`. One in fifty is loaded too
 * fast.
 *
 * An audit passes up to a thousand. Beyond, in whole thousands, rows are copies with other numbers,
 * names and times: their seals do not hold.
 */
#include "store/replay.h"
#include "store/sql.h"

#include "base/text.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
	READINGS = 40,
	PRESSES = 4,
	SET = 5,
	MADE = 1000,   /* the others are copies of these */
	SEALS = 5,     /* a run: specimen, detail, seat, run, fracture */
	APART_S = 300, /* from one run to the next */
};

static const struct actor technician = {.uid = 1000, .name = "technician"};

static const int64_t age_ns = INT64_C(28) * 24 * 3600 * CLOCKS_NS_PER_S;

static void must(enum store_status status, struct store *store)
{
	if (status == STORE_OK)
		return;
	fprintf(stderr, "fill: %s\n", store_error(store));
	exit(1);
}

static void make_start(struct run_start *start, int64_t number)
{
	struct message why;

	memset(start, 0, sizeof(*start));
	start->judged_by = method_find("astm-c39");
	start->specimen = (struct specimen){.shape = SHAPE_CYLINDER,
		.width_um = {100000, 100250},
		.length_um = 200000,
		.anticipated_pa = 5e6};
	start->started.ns = INT64_C(1600000000000000000) + number * APART_S * CLOCKS_NS_PER_S;
	start->specimen.cast.ns = start->started.ns - age_ns;
	snprintf(start->specimen.id, sizeof(start->specimen.id), "S-%lld", (long long)number);
	snprintf(start->specimen.set, sizeof(start->specimen.set), "set-%lld",
		(long long)(number / SET));
	snprintf(start->specimen.method, sizeof(start->specimen.method), "astm-c39");
	start->has_specimen = true;
	snprintf(start->press, sizeof(start->press), "press-%d", (int)(number / SET % PRESSES));
	snprintf(start->method, sizeof(start->method), "astm-c39");
	snprintf(start->program, sizeof(start->program), "fill");
	if (!method_plan(start->judged_by, &start->specimen, &start->plan, &why))
		exit(1);
	start->cell_count = 1;
	snprintf(start->cells[0].name, sizeof(start->cells[0].name), "cell");
	start->cells[0].scale = (struct scale){UNIT_KILONEWTON, {1, 0}, 0};
}

static void add_specimen(struct store *store, const struct run_start *start)
{
	const struct specimen *specimen = &start->specimen;
	struct detail detail;

	detail_init(&detail);
	detail.intended_age_ns = age_ns;
	must(store_specimen_add(store, specimen, &technician, specimen->cast), store);
	must(store_detail_add(store, specimen->id, &detail, "", &technician, specimen->cast),
		store);
	must(store_seat(store, start->press, specimen->id, &technician, start->started), store);
}

/* A ramp to some 40 kN and a break, two readings a second. */
static void make_readings(struct reading *readings, int64_t number)
{
	int64_t step = number % 50 ? 980 : 1500; /* newtons; 0.25 MPa/s, and too much of it */

	for (int64_t i = 0; i < READINGS; i++) {
		int64_t load_n = i < READINGS - 4 ? (i + 1) * step + number * 7919 % 97 * i : 150;

		readings[i] =
			(struct reading){.time = {i * (CLOCKS_NS_PER_S / 2) + (i * 37) % 11 * 1000},
				.value = {load_n / 10, -2},
				.unit = UNIT_KILONEWTON};
	}
}

/* As its readings are judged again, so that an audit agrees. */
static void close_run(struct store *store, int64_t run)
{
	static struct run_record record;
	struct replay replay;

	must(store_run_load(store, run, &record), store);
	must(replay_run(store, &record, &replay), store);
	must(store_run_close(store, run, &replay.outcome, record.start.started), store);
	replay_finish(&replay);
}

static void add_run(struct store *store, int64_t number)
{
	static struct run_start start;
	struct reading readings[READINGS];
	int64_t run = 0;

	make_start(&start, number);
	make_readings(readings, number);
	add_specimen(store, &start);
	must(store_run_open(store, &start, &run), store);
	must(store_readings_add(store, run, 0, readings, READINGS), store);
	close_run(store, run);
	must(store_fracture_add(store, run, 1 + (int)(number % 6), "", &technician, start.started),
		store);
}

/* ---- copies */

enum { TABLES_MAX = 64, NAME_SIZE = 48 };

/* What becomes of a column in the copy number ?1. */
static void put_column(struct text *text, const char *name)
{
	static const struct {
		const char *name, *before, *after;
		int64_t shift;
	} moves[] = {
		{"run", "run", "", MADE},
		{"seat", "seat", "", MADE},
		{"number", "number", "", MADE},
		{"fracture", "fracture", "", MADE},
		{"run_count", "run_count", "", MADE},
		{"seal", "seal", "", (int64_t)MADE * SEALS},
		{"specimen", "'S-' || (substr(specimen, 3)", ")", MADE},
		{"set_name", "'set-' || (substr(set_name, 5)", ")", MADE / SET},
		{"started_utc_ns", "started_utc_ns", "", MADE * APART_S * CLOCKS_NS_PER_S},
		{"ended_utc_ns", "ended_utc_ns", "", MADE * APART_S * CLOCKS_NS_PER_S},
		{"at_utc_ns", "at_utc_ns", "", MADE * APART_S * CLOCKS_NS_PER_S},
		{"cast_utc_ns", "cast_utc_ns", "", MADE * APART_S * CLOCKS_NS_PER_S},
	};

	for (size_t i = 0; i < sizeof(moves) / sizeof(*moves); i++) {
		if (strcmp(name, moves[i].name) == 0) {
			text_format(text, "%s + ?1 * %lld%s", moves[i].before,
				(long long)moves[i].shift, moves[i].after);
			return;
		}
	}
	text_put(text, name);
}

/* Which of a table's rows are of the first runs; NULL: they are of no single run. */
static const char *rows_to_copy(const char *table, bool has_run, bool has_number)
{
	if (strcmp(table, "seal") == 0)
		return "seal BETWEEN 2 AND 5001"; /* the first is the key's */
	if (strcmp(table, "seat") == 0)
		return "seat <= 1000";
	if (has_run)
		return "run <= 1000";
	return has_number ? "number <= 1000" : NULL;
}

/* The statement that copies a table's first rows; false: there is nothing to copy. */
static bool make_copy(struct store *store, const char *table, struct text *text)
{
	char name[NAME_SIZE], buffer[SQL_TEXT_SIZE];
	bool has_run = false, has_number = false;
	struct text columns;
	struct sql sql;

	text_init(&columns, buffer, sizeof(buffer));
	text_format(text, "INSERT INTO %s (", table);
	sql_start(&sql, store, "SELECT name FROM pragma_table_info(?)");
	sql_put_text(&sql, table);
	for (int i = 0; sql_next(&sql); i++) {
		sql_take_text(&sql, name, sizeof(name));
		text_format(text, "%s%s", i ? ", " : "", name);
		text_put(&columns, i ? ", " : "");
		put_column(&columns, name);
		has_run = has_run || strcmp(name, "run") == 0;
		has_number = has_number || strcmp(name, "number") == 0;
	}
	must(sql_finish(&sql), store);
	const char *rows = rows_to_copy(table, has_run, has_number);
	text_format(text, ") SELECT %s FROM %s WHERE %s", buffer, table, rows ? rows : "0");
	return rows != NULL;
}

/* Gives the count; seals last, since nothing may come to a run that is sealed. */
static size_t list_tables(struct store *store, char (*tables)[NAME_SIZE])
{
	size_t count = 0;
	struct sql sql;

	sql_start(&sql, store,
		"SELECT name FROM sqlite_schema WHERE type = 'table' ORDER BY name = 'seal', "
		"rowid");
	for (; count < TABLES_MAX && sql_next(&sql); count++)
		sql_take_text(&sql, tables[count], NAME_SIZE);
	must(sql_finish(&sql), store);
	return count;
}

static void add_copy(struct store *store, char (*tables)[NAME_SIZE], size_t count, int64_t number)
{
	char buffer[2 * SQL_TEXT_SIZE];
	struct text text;
	struct sql sql;

	for (size_t i = 0; i < count; i++) {
		text_init(&text, buffer, sizeof(buffer));
		if (!make_copy(store, tables[i], &text))
			continue;
		sql_start(&sql, store, buffer);
		sql_put_integer(&sql, number);
		must(sql_finish(&sql), store);
	}
}

/* Runs every text that the statement gives. */
static void run_each(struct store *store, const char *statement)
{
	static char texts[4 * TABLES_MAX][SQL_TEXT_SIZE];
	size_t count = 0;
	struct sql sql;

	sql_start(&sql, store, statement);
	for (; count < 4 * TABLES_MAX && sql_next(&sql); count++)
		sql_take_text(&sql, texts[count], SQL_TEXT_SIZE);
	must(sql_finish(&sql), store);
	for (size_t i = 0; i < count; i++)
		must(sql_run(store, texts[i]), store);
}

/* Without the triggers, which look a row up for each that is added; they come back as they were. */
static void add_copies(struct store *store, int64_t count)
{
	static char tables[TABLES_MAX][NAME_SIZE];
	size_t table_count = list_tables(store, tables);

	must(sql_run(store, "CREATE TEMP TABLE guard AS SELECT sql FROM main.sqlite_schema"
			    " WHERE type = 'trigger'"),
		store);
	run_each(store, "SELECT 'DROP TRIGGER ' || name FROM main.sqlite_schema"
			" WHERE type = 'trigger'");
	for (int64_t number = 1; number * MADE < count; number++) {
		must(store_begin(store), store);
		add_copy(store, tables, table_count, number);
		must(store_commit(store), store);
	}
	run_each(store, "SELECT sql FROM temp.guard");
}

int main(int argc, char **argv)
{
	struct message why;
	struct store *store;
	bool changed;
	int64_t count = argc == 3 ? strtoll(argv[2], NULL, 10) : 0;

	if (count < 1) {
		fputs("usage: fill FILE RUNS\n", stderr);
		return 2;
	}
	if (store_open(&store, argv[1], STORE_WRITE, &why) != STORE_OK) {
		fprintf(stderr, "fill: %s\n", why.text);
		return 1;
	}
	must(store_key_take(store, &technician, (struct utc_time){1}, &changed), store);
	sqlite3_exec(store->db,
		"PRAGMA journal_mode = OFF; PRAGMA synchronous = OFF; PRAGMA foreign_keys = OFF; "
		"PRAGMA cache_size = -400000",
		NULL, NULL, NULL);
	must(store_begin(store), store);
	for (int64_t number = 0; number < count && number < MADE; number++)
		add_run(store, number);
	must(store_commit(store), store);
	add_copies(store, count);
	must(sql_run(store, "PRAGMA journal_mode = WAL"), store);
	store_close(store);
	return 0;
}
