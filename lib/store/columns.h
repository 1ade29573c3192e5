/* SPDX-License-Identifier: MIT
 *
 * Inside of the store: which columns hold which members of the structs that are kept. One table a
 * struct; inserting, loading and the audit's comparison all walk it, so that a member cannot be
 * stored and then forgotten by one of them.
 */
#ifndef STORE_COLUMNS_H
#define STORE_COLUMNS_H

#include "store/sql.h"

enum column_type {
	COLUMN_INTEGER, /* int64_t, and the struct times that hold nothing else */
	COLUMN_SIZE,    /* size_t */
	COLUMN_INT,     /* int */
	COLUMN_FLAG,    /* bool, as 0 or 1 */
	COLUMN_REAL,    /* double, never NaN; -0 is kept as 0, SQLite knows only one zero */
	COLUMN_TEXT,    /* char[size] */
	COLUMN_WORD,    /* an enum, as its word */
};

/* The words of an enum; the empty text stands for the value 0 where that has no word. */
struct column_words {
	const char *(*text)(int value);
	bool (*parse)(const char *text, int *value);
};

struct column {
	const char *name; /* NULL: end of the table */
	enum column_type type;
	size_t offset, size;
	const struct column_words *words;
};

extern const struct column columns_specimen[]; /* struct specimen */
extern const struct column columns_detail[];   /* struct detail */
extern const struct column columns_terms[];    /* struct set_terms */
extern const struct column columns_issued[];   /* struct issued, without number and runs */
extern const struct column columns_run[];      /* struct run_start, without specimen and cells */
extern const struct column columns_cell[];     /* struct run_cell */
extern const struct column columns_press[];    /* struct run_start: how the press stood */
extern const struct column columns_standing[]; /* struct standing */
extern const struct column columns_place[];    /* struct thrust_place */
extern const struct column columns_thrust[];   /* struct outcome: where the load acted */
extern const struct column columns_verification[]; /* struct verification, without its number */
extern const struct column columns_force[];        /* struct verification_force */
extern const struct column columns_outcome[];      /* struct outcome, without rates and events */
extern const struct column columns_rate[];         /* struct rate */
extern const struct column columns_event[];        /* struct event */
extern const struct column_words columns_basis;

/* Starts "INSERT INTO table (others, columns...) VALUES (?, ...)": put the others, separated by
 * ", ", then the columns. others has at least one column. */
void columns_start_insert(struct sql *sql, struct store *store, const char *table,
	const char *others, const struct column *columns);
void columns_put(struct sql *sql, const struct column *columns, const void *record);

/* Starts "SELECT columns... rest"; rest begins with "FROM" or with ", more columns FROM". */
void columns_start_select(
	struct sql *sql, struct store *store, const struct column *columns, const char *rest);
void columns_take(struct sql *sql, const struct column *columns, void *record);

/* The same, bit for bit. */
bool columns_equal(const struct column *column, const void *one, const void *other);
/* Every column of them. */
bool columns_same(const struct column *columns, const void *one, const void *other);
/* The value for a person, exactly: "%.17g" for reals. */
void columns_text(const struct column *column, const void *record, char *text, size_t size);

#endif
