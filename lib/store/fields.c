/* SPDX-License-Identifier: MIT
 *
 * The tables of columns and the walks over them. The columns themselves are made in schema.c;
 * a name that stands here and not there is found by every test that stores anything.
 */
#include "store/fields.h"

#include "base/text.h"

#include <assert.h>
#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

static const char *shape_word(int value)
{
	return shape_text((enum shape)value);
}

static bool shape_value(const char *text, int *value)
{
	enum shape shape;
	bool known = shape_parse(text, &shape);

	*value = known ? (int)shape : 0;
	return known;
}

static const char *unit_word(int value)
{
	return units_text((enum unit)value);
}

static bool unit_value(const char *text, int *value)
{
	enum unit unit;
	bool known = units_parse(text, strlen(text), &unit);

	*value = known ? (int)unit : 0;
	return known;
}

static const char *end_word(int value)
{
	return end_text((enum end)value);
}

static bool end_value(const char *text, int *value)
{
	enum end end;
	bool known = end_parse(text, &end);

	*value = known ? (int)end : 0;
	return known;
}

static const char *verdict_word(int value)
{
	return verdict_text((enum verdict)value);
}

static bool verdict_value(const char *text, int *value)
{
	enum verdict verdict;
	bool known = verdict_parse(text, &verdict);

	*value = known ? (int)verdict : 0;
	return known;
}

static const char *basis_word(int value)
{
	return basis_text((enum basis)value);
}

static bool basis_value(const char *text, int *value)
{
	enum basis basis;
	bool known = basis_parse(text, &basis);

	*value = known ? (int)basis : 0;
	return known;
}

static const char *kind_word(int value)
{
	return event_kind_text((enum event_kind)value);
}

static bool kind_value(const char *text, int *value)
{
	enum event_kind kind;
	bool known = event_kind_parse(text, &kind);

	*value = known ? (int)kind : 0;
	return known;
}

static const struct field_words shapes = {shape_word, shape_value};
static const struct field_words units = {unit_word, unit_value};
static const struct field_words ends = {end_word, end_value};
static const struct field_words verdicts = {verdict_word, verdict_value};
static const struct field_words kinds = {kind_word, kind_value};
const struct field_words fields_basis = {basis_word, basis_value};

_Static_assert(sizeof(enum shape) == sizeof(int) && sizeof(enum unit) == sizeof(int) &&
		       sizeof(enum end) == sizeof(int) && sizeof(enum verdict) == sizeof(int) &&
		       sizeof(enum basis) == sizeof(int) && sizeof(enum event_kind) == sizeof(int),
	"FIELD_WORD copies enums as int");

/* One line a column. */
// clang-format off
#define FIELD(record, type, column, member, words) \
	{column, type, offsetof(struct record, member), sizeof(((struct record *)0)->member), words}
#define INTEGER(record, column, member) FIELD(record, FIELD_INTEGER, column, member, NULL)
#define SIZE(record, column, member) FIELD(record, FIELD_SIZE, column, member, NULL)
#define INT(record, column, member) FIELD(record, FIELD_INT, column, member, NULL)
#define FLAG(record, column, member) FIELD(record, FIELD_FLAG, column, member, NULL)
#define REAL(record, column, member) FIELD(record, FIELD_REAL, column, member, NULL)
#define TEXT(record, column, member) FIELD(record, FIELD_TEXT, column, member, NULL)
#define WORD(record, column, member, words) FIELD(record, FIELD_WORD, column, member, &(words))
#define END {NULL, FIELD_INTEGER, 0, 0, NULL}

const struct field fields_specimen[] = {
	TEXT(specimen, "specimen", id),
	TEXT(specimen, "set_name", set),
	WORD(specimen, "shape", shape, shapes),
	INTEGER(specimen, "width_1_um", width_um[0]),
	INTEGER(specimen, "width_2_um", width_um[1]),
	INTEGER(specimen, "length_um", length_um),
	INTEGER(specimen, "cast_utc_ns", cast.ns),
	REAL(specimen, "anticipated_pa", anticipated_pa),
	TEXT(specimen, "method", method),
	REAL(specimen, "chosen_rate_pa_s", chosen_rate_pa_s),
	END,
};

const struct field fields_run[] = {
	TEXT(run_start, "press", press),
	TEXT(run_start, "method", method),
	TEXT(run_start, "program", program),
	INTEGER(run_start, "started_utc_ns", started.ns),
	INTEGER(run_start, "origin_mono_ns", origin.ns),
	TEXT(run_start, "boot_id", boot_id),
	INTEGER(run_start, "capacity_un", capacity_un),
	REAL(run_start, "area_m2", plan.area_m2),
	REAL(run_start, "rate_unit_pa", plan.rate_unit_pa),
	REAL(run_start, "band_low_unit_s", plan.band_low),
	REAL(run_start, "band_high_unit_s", plan.band_high),
	REAL(run_start, "span_from_fraction", plan.span_from),
	REAL(run_start, "span_to_fraction", plan.span_to),
	INTEGER(run_start, "window_ns", plan.window_ns),
	INTEGER(run_start, "anticipated_load_un", plan.anticipated_load_un),
	FLAG(run_start, "basis_anticipated", plan.basis_anticipated),
	INTEGER(run_start, "contact_un", plan.contact_un),
	END,
};

const struct field fields_cell[] = {
	TEXT(run_cell, "name", name),
	TEXT(run_cell, "device", device),
	TEXT(run_cell, "decoder", decoder),
	WORD(run_cell, "unit", scale.unit, units),
	INTEGER(run_cell, "factor_mantissa", scale.factor.mantissa),
	INT(run_cell, "factor_exponent", scale.factor.exponent),
	INTEGER(run_cell, "zero_un", scale.zero_un),
	END,
};

const struct field fields_outcome[] = {
	WORD(outcome, "ending", judgement.end, ends),
	INTEGER(outcome, "maximum_un", judgement.maximum_un),
	INTEGER(outcome, "maximum_mono_ns", judgement.maximum_at.ns),
	WORD(outcome, "basis", judgement.basis, fields_basis),
	REAL(outcome, "area_m2", area_m2),
	REAL(outcome, "correction", correction),
	REAL(outcome, "strength_pa", strength_pa),
	TEXT(outcome, "strength_reported", strength_reported),
	SIZE(outcome, "event_count", judgement.event_count),
	SIZE(outcome, "event_total", judgement.event_total),
	END,
};

const struct field fields_rate[] = {
	WORD(rate, "verdict", verdict, verdicts),
	TEXT(rate, "reason", reason),
	REAL(rate, "band_low_pa_s", band_low_pa_s),
	REAL(rate, "band_high_pa_s", band_high_pa_s),
	INTEGER(rate, "from_mono_ns", from.ns),
	INTEGER(rate, "to_mono_ns", to.ns),
	REAL(rate, "mean_pa_s", mean_pa_s),
	REAL(rate, "lowest_pa_s", lowest_pa_s),
	REAL(rate, "highest_pa_s", highest_pa_s),
	INTEGER(rate, "window_ns", window_ns),
	REAL(rate, "uncertainty_pa_s", uncertainty_pa_s),
	INTEGER(rate, "outside_ns", outside_ns),
	INTEGER(rate, "worst_mono_ns", worst.ns),
	END,
};

const struct field fields_event[] = {
	WORD(event, "kind", kind, kinds),
	INTEGER(event, "time_mono_ns", time.ns),
	INTEGER(event, "load_un", load_un),
	TEXT(event, "text", text),
	END,
};
// clang-format on

void fields_start_insert(struct sql *sql, struct store *store, const char *table,
	const char *others, const struct field *fields)
{
	char buffer[SQL_TEXT_SIZE];
	struct text text;
	size_t count = 1;

	text_init(&text, buffer, sizeof(buffer));
	text_put(&text, "INSERT INTO ");
	text_put(&text, table);
	text_put(&text, " (");
	text_put(&text, others);
	for (const char *comma = others; (comma = strchr(comma, ',')); comma++)
		count++;
	for (const struct field *field = fields; field->column; field++, count++) {
		text_put(&text, ", ");
		text_put(&text, field->column);
	}
	text_put(&text, ") VALUES (?");
	for (size_t i = 1; i < count; i++)
		text_put(&text, ", ?");
	text_put(&text, ")");
	assert(!text.overflow);
	sql_start(sql, store, buffer);
}

void fields_start_select(
	struct sql *sql, struct store *store, const struct field *fields, const char *rest)
{
	char buffer[SQL_TEXT_SIZE];
	struct text text;

	text_init(&text, buffer, sizeof(buffer));
	text_put(&text, "SELECT ");
	for (const struct field *field = fields; field->column; field++) {
		text_put(&text, field == fields ? "" : ", ");
		text_put(&text, field->column);
	}
	text_put(&text, " ");
	text_put(&text, rest);
	assert(!text.overflow);
	sql_start(sql, store, buffer);
}

/* The member as an integer, whatever its width. */
static int64_t integer_of(const struct field *field, const void *record)
{
	const char *member = (const char *)record + field->offset;
	int64_t wide;
	size_t size;
	int narrow;

	switch (field->type) {
	case FIELD_INT:
	case FIELD_WORD:
		memcpy(&narrow, member, sizeof(narrow));
		return narrow;
	case FIELD_FLAG:
		return *(const bool *)member;
	case FIELD_SIZE:
		memcpy(&size, member, sizeof(size));
		return (int64_t)size;
	case FIELD_INTEGER:
	case FIELD_REAL:
	case FIELD_TEXT:
		break;
	}
	memcpy(&wide, member, sizeof(wide));
	return wide;
}

static double real_of(const struct field *field, const void *record)
{
	double value;

	memcpy(&value, (const char *)record + field->offset, sizeof(value));
	return value + 0.0; /* -0 becomes 0 */
}

void fields_put(struct sql *sql, const struct field *fields, const void *record)
{
	for (const struct field *field = fields; field->column; field++) {
		if (field->type == FIELD_REAL)
			sql_put_real(sql, real_of(field, record));
		else if (field->type == FIELD_TEXT)
			sql_put_text(sql, (const char *)record + field->offset);
		else if (field->type == FIELD_WORD)
			sql_put_text(sql, field->words->text((int)integer_of(field, record)));
		else
			sql_put_integer(sql, integer_of(field, record));
	}
}

static void take_word(struct sql *sql, const struct field *field, char *member)
{
	char word[STORE_NAME_SIZE];
	int value = 0;

	sql_take_text(sql, word, sizeof(word));
	if (word[0] != '\0' || field->words->text(0)[0] != '\0') {
		if (sql->status == STORE_OK && !field->words->parse(word, &value))
			sql_damaged(sql, "a word that this program does not know");
	}
	memcpy(member, &value, sizeof(value));
}

static void take_integer(struct sql *sql, const struct field *field, char *member)
{
	int64_t value = sql_take_integer(sql);
	int64_t low = field->type == FIELD_INTEGER ? INT64_MIN
		      : field->type == FIELD_INT   ? INT32_MIN
						   : 0;
	int64_t high = INT64_MAX;

	if (field->type == FIELD_INT)
		high = INT32_MAX;
	else if (field->type == FIELD_FLAG)
		high = 1;
	if (value < low || value > high)
		sql_damaged(sql, "a number out of its range");
	if (sql->status != STORE_OK)
		value = 0;
	if (field->type == FIELD_INT)
		memcpy(member, &(int){(int)value}, sizeof(int));
	else if (field->type == FIELD_FLAG)
		*(bool *)member = value != 0;
	else if (field->type == FIELD_SIZE)
		memcpy(member, &(size_t){(size_t)value}, sizeof(size_t));
	else
		memcpy(member, &value, sizeof(value));
}

void fields_take(struct sql *sql, const struct field *fields, void *record)
{
	for (const struct field *field = fields; field->column; field++) {
		char *member = (char *)record + field->offset;

		if (field->type == FIELD_REAL)
			memcpy(member, &(double){sql_take_real(sql)}, sizeof(double));
		else if (field->type == FIELD_TEXT)
			sql_take_text(sql, member, field->size);
		else if (field->type == FIELD_WORD)
			take_word(sql, field, member);
		else
			take_integer(sql, field, member);
	}
}

bool fields_equal(const struct field *field, const void *one, const void *other)
{
	if (field->type == FIELD_TEXT)
		return strcmp((const char *)one + field->offset,
			       (const char *)other + field->offset) == 0;
	if (field->type != FIELD_REAL)
		return integer_of(field, one) == integer_of(field, other);
	double a = real_of(field, one), b = real_of(field, other);
	return memcmp(&a, &b, sizeof(a)) == 0;
}

void fields_show(const struct field *field, const void *record, char *text, size_t size)
{
	const char *member = (const char *)record + field->offset;

	if (field->type == FIELD_TEXT)
		snprintf(text, size, "%s", member);
	else if (field->type == FIELD_WORD)
		snprintf(text, size, "%s", field->words->text((int)integer_of(field, record)));
	else if (field->type == FIELD_REAL)
		snprintf(text, size, "%.17g", real_of(field, record));
	else
		snprintf(text, size, "%" PRId64, integer_of(field, record));
}
