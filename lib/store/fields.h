/* SPDX-License-Identifier: MIT
 *
 * Inside of the store: which columns hold which members of the structs that are kept. One table a
 * struct; inserting, loading and the audit's comparison all walk it, so that a member cannot be
 * stored and then forgotten by one of them.
 */
#ifndef STORE_FIELDS_H
#define STORE_FIELDS_H

#include "store/sql.h"

enum field_type {
	FIELD_INTEGER, /* int64_t, and the struct times that hold nothing else */
	FIELD_SIZE,    /* size_t */
	FIELD_INT,     /* int */
	FIELD_FLAG,    /* bool, as 0 or 1 */
	FIELD_REAL,    /* double, never NaN; -0 is kept as 0, SQLite knows only one zero */
	FIELD_TEXT,    /* char[size] */
	FIELD_WORD,    /* an enum, as its word */
};

/* The words of an enum; the empty text stands for the value 0 where that has no word. */
struct field_words {
	const char *(*text)(int value);
	bool (*parse)(const char *text, int *value);
};

struct field {
	const char *column; /* NULL: end of the table */
	enum field_type type;
	size_t offset, size;
	const struct field_words *words;
};

extern const struct field fields_specimen[]; /* struct specimen */
extern const struct field fields_run[];      /* struct run_start, without specimen and cells */
extern const struct field fields_cell[];     /* struct run_cell */
extern const struct field fields_outcome[];  /* struct outcome, without rates and events */
extern const struct field fields_rate[];     /* struct rate */
extern const struct field fields_event[];    /* struct event */
extern const struct field_words fields_basis;

/* Starts "INSERT INTO table (others, fields...) VALUES (?, ...)": put the others, separated by
 * ", ", then the fields. others has at least one column. */
void fields_start_insert(struct sql *sql, struct store *store, const char *table,
	const char *others, const struct field *fields);
void fields_put(struct sql *sql, const struct field *fields, const void *record);

/* Starts "SELECT fields... rest"; rest begins with "FROM" or with ", more columns FROM". */
void fields_start_select(
	struct sql *sql, struct store *store, const struct field *fields, const char *rest);
void fields_take(struct sql *sql, const struct field *fields, void *record);

/* The same, bit for bit. */
bool fields_equal(const struct field *field, const void *one, const void *other);
/* The value for a person, exactly: "%.17g" for reals. */
void fields_show(const struct field *field, const void *record, char *text, size_t size);

#endif
