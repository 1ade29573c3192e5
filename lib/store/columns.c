/* SPDX-License-Identifier: MIT
 *
 * The tables of columns and the walks over them. The columns themselves are made in schema.c;
 * a name that stands here and not there is found by every test that stores anything.
 */
#include "store/columns.h"

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

static const char *standing_word(int value)
{
	return standing_kind_text((enum standing_kind)value);
}

static bool standing_value(const char *text, int *value)
{
	enum standing_kind kind;
	bool known = standing_kind_parse(text, &kind);

	*value = known ? (int)kind : 0;
	return known;
}

static const struct column_words standings = {standing_word, standing_value};
static const char *ends_word(int value)
{
	return detail_ends_text((enum detail_ends)value);
}

static bool ends_value(const char *text, int *value)
{
	enum detail_ends ends;
	bool known = detail_ends_parse(text, &ends);

	*value = (int)ends;
	return known;
}

static const char *moist_word(int value)
{
	return detail_moist_text((enum detail_moist)value);
}

static bool moist_value(const char *text, int *value)
{
	enum detail_moist moist;
	bool known = detail_moist_parse(text, &moist);

	*value = (int)moist;
	return known;
}

static const char *rule_word(int value)
{
	return acceptance_rule_text((enum acceptance_rule)value);
}

static bool rule_value(const char *text, int *value)
{
	enum acceptance_rule rule = ACCEPTANCE_NONE;
	bool known = acceptance_rule_parse(text, &rule);

	*value = (int)rule;
	return known;
}

static const struct column_words rules = {rule_word, rule_value};
static const struct column_words ends_words = {ends_word, ends_value};
static const struct column_words moist_words = {moist_word, moist_value};
static const struct column_words shapes = {shape_word, shape_value};
static const struct column_words units = {unit_word, unit_value};
static const struct column_words ends = {end_word, end_value};
static const struct column_words verdicts = {verdict_word, verdict_value};
static const struct column_words kinds = {kind_word, kind_value};
const struct column_words columns_basis = {basis_word, basis_value};

_Static_assert(sizeof(enum shape) == sizeof(int) && sizeof(enum unit) == sizeof(int) &&
		       sizeof(enum end) == sizeof(int) && sizeof(enum verdict) == sizeof(int) &&
		       sizeof(enum basis) == sizeof(int) &&
		       sizeof(enum event_kind) == sizeof(int) &&
		       sizeof(enum standing_kind) == sizeof(int),
	"COLUMN_WORD copies enums as int");

/* One line a column. */
// clang-format off
#define FIELD(record, type, column, member, words) \
	{column, type, offsetof(struct record, member), sizeof(((struct record *)0)->member), words}
#define INTEGER(record, column, member) FIELD(record, COLUMN_INTEGER, column, member, NULL)
#define SIZE(record, column, member) FIELD(record, COLUMN_SIZE, column, member, NULL)
#define INT(record, column, member) FIELD(record, COLUMN_INT, column, member, NULL)
#define FLAG(record, column, member) FIELD(record, COLUMN_FLAG, column, member, NULL)
#define REAL(record, column, member) FIELD(record, COLUMN_REAL, column, member, NULL)
#define TEXT(record, column, member) FIELD(record, COLUMN_TEXT, column, member, NULL)
#define WORD(record, column, member, words) FIELD(record, COLUMN_WORD, column, member, &(words))
#define END {NULL, COLUMN_INTEGER, 0, 0, NULL}

const struct column columns_specimen[] = {
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

const struct column columns_detail[] = {
	INTEGER(detail, "intended_age_ns", intended_age_ns),
	INTEGER(detail, "mass_mg", mass_mg),
	WORD(detail, "ends", ends, ends_words),
	TEXT(detail, "pad", pad),
	INT(detail, "pad_hardness", pad_hardness),
	INTEGER(detail, "out_of_square_udeg", out_of_square_udeg),
	INTEGER(detail, "out_of_plane_um", out_of_plane_um),
	WORD(detail, "moist", moist, moist_words),
	FLAG(detail, "reduced", reduced),
	TEXT(detail, "lot", lot),
	END,
};

const struct column columns_terms[] = {
	TEXT(set_terms, "set_name", set),
	TEXT(set_terms, "series", series),
	WORD(set_terms, "rule", rule, rules),
	REAL(set_terms, "specified_pa", specified_pa),
	REAL(set_terms, "sigma_pa", sigma_pa),
	FLAG(set_terms, "field", field),
	END,
};

const struct column columns_issued[] = {
	FLAG(issued, "is_set", is_set),
	TEXT(issued, "subject", subject),
	INTEGER(issued, "issued_utc_ns", at),
	TEXT(issued, "laboratory", laboratory),
	TEXT(issued, "customer", customer),
	TEXT(issued, "reviewer", reviewer),
	FLAG(issued, "field", field),
	INTEGER(issued, "replaces", replaces),
	TEXT(issued, "reason", reason),
	TEXT(issued, "format", format),
	TEXT(issued, "hash", hash),
	SIZE(issued, "run_count", run_count),
	END,
};

const struct column columns_run[] = {
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
	INTEGER(run_start, "alignment_un", plan.alignment_un),
	END,
};

const struct column columns_standing[] = {
	WORD(standing, "standing", kind, standings),
	INTEGER(standing, "verification", verification),
	INTEGER(standing, "verified_utc_ns", verified.ns),
	INTEGER(standing, "due_utc_ns", due.ns),
	INTEGER(standing, "verified_low_un", low_un),
	INTEGER(standing, "verified_high_un", high_un),
	TEXT(standing, "standing_note", note),
	END,
};

const struct column columns_press[] = {
	INTEGER(run_start, "zero_limit_un", watch.zero_limit_un),
	INTEGER(run_start, "drift_limit_un", watch.drift_limit_un),
	FLAG(run_start, "has_zero_before", watch.has_zero_before),
	INTEGER(run_start, "zero_before_un", watch.zero_before_un),
	INTEGER(run_start, "thrust_limit_um", watch.thrust_limit_um),
	INTEGER(run_start, "thrust_least_un", watch.thrust_least_un),
	INTEGER(run_start, "block_um", watch.block.width_um),
	FLAG(run_start, "block_square", watch.block.square),
	SIZE(run_start, "place_count", watch.place_count),
	WORD(run_start, "standing", standing.kind, standings),
	INTEGER(run_start, "verification", standing.verification),
	INTEGER(run_start, "verified_utc_ns", standing.verified.ns),
	INTEGER(run_start, "due_utc_ns", standing.due.ns),
	INTEGER(run_start, "verified_low_un", standing.low_un),
	INTEGER(run_start, "verified_high_un", standing.high_un),
	TEXT(run_start, "standing_note", standing.note),
	END,
};

const struct column columns_place[] = {
	INTEGER(thrust_place, "x_um", x_um),
	INTEGER(thrust_place, "y_um", y_um),
	END,
};

const struct column columns_thrust[] = {
	FLAG(outcome, "known", thrust.known),
	INTEGER(outcome, "x_um", thrust.x_um),
	INTEGER(outcome, "y_um", thrust.y_um),
	INTEGER(outcome, "worst_um", thrust.worst_um),
	INTEGER(outcome, "worst_mono_ns", thrust.worst_at.ns),
	END,
};

const struct column columns_verification[] = {
	TEXT(verification, "press", press),
	INTEGER(verification, "verified_utc_ns", verified.ns),
	FLAG(verification, "guided", guided),
	TEXT(verification, "certificate", certificate),
	TEXT(verification, "reference", reference),
	INTEGER(verification, "capacity_un", capacity_un),
	INTEGER(verification, "increment_un", increment_un),
	INTEGER(verification, "resolution_un", resolution_un),
	INTEGER(verification, "return_1_un", return_un[0]),
	INTEGER(verification, "return_2_un", return_un[1]),
	SIZE(verification, "force_count", force_count),
	INTEGER(verification, "low_un", low_un),
	INTEGER(verification, "high_un", high_un),
	REAL(verification, "worst_percent", worst_percent),
	REAL(verification, "repeatability_percent", repeatability_percent),
	FLAG(verification, "passed", passed),
	TEXT(verification, "reason", reason),
	END,
};

const struct column columns_force[] = {
	INTEGER(verification_force, "true_1_un", true_un[0]),
	INTEGER(verification_force, "true_2_un", true_un[1]),
	INTEGER(verification_force, "indicated_1_un", indicated_un[0]),
	INTEGER(verification_force, "indicated_2_un", indicated_un[1]),
	REAL(verification_force, "error_1_percent", error_percent[0]),
	REAL(verification_force, "error_2_percent", error_percent[1]),
	END,
};

const struct column columns_cell[] = {
	TEXT(run_cell, "name", name),
	TEXT(run_cell, "device", device),
	TEXT(run_cell, "decoder", decoder),
	WORD(run_cell, "unit", scale.unit, units),
	INTEGER(run_cell, "factor_mantissa", scale.factor.mantissa),
	INT(run_cell, "factor_exponent", scale.factor.exponent),
	INTEGER(run_cell, "zero_un", scale.zero_un),
	END,
};

const struct column columns_outcome[] = {
	WORD(outcome, "ending", judgement.end, ends),
	INTEGER(outcome, "maximum_un", judgement.maximum_un),
	INTEGER(outcome, "maximum_mono_ns", judgement.maximum_at.ns),
	WORD(outcome, "basis", judgement.basis, columns_basis),
	REAL(outcome, "area_m2", area_m2),
	REAL(outcome, "correction", correction),
	REAL(outcome, "strength_pa", strength_pa),
	TEXT(outcome, "strength_reported", strength_reported),
	SIZE(outcome, "event_count", judgement.event_count),
	SIZE(outcome, "event_total", judgement.event_total),
	END,
};

const struct column columns_rate[] = {
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

const struct column columns_event[] = {
	WORD(event, "kind", kind, kinds),
	INTEGER(event, "time_mono_ns", time.ns),
	INTEGER(event, "load_un", load_un),
	TEXT(event, "text", text),
	END,
};
// clang-format on

void columns_start_insert(struct sql *sql, struct store *store, const char *table,
	const char *others, const struct column *columns)
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
	for (const struct column *column = columns; column->name; column++, count++) {
		text_put(&text, ", ");
		text_put(&text, column->name);
	}
	text_put(&text, ") VALUES (?");
	for (size_t i = 1; i < count; i++)
		text_put(&text, ", ?");
	text_put(&text, ")");
	assert(!text.overflow);
	sql_start(sql, store, buffer);
}

void columns_start_select(
	struct sql *sql, struct store *store, const struct column *columns, const char *rest)
{
	char buffer[SQL_TEXT_SIZE];
	struct text text;

	text_init(&text, buffer, sizeof(buffer));
	text_put(&text, "SELECT ");
	for (const struct column *column = columns; column->name; column++) {
		text_put(&text, column == columns ? "" : ", ");
		text_put(&text, column->name);
	}
	text_put(&text, " ");
	text_put(&text, rest);
	assert(!text.overflow);
	sql_start(sql, store, buffer);
}

/* The member as an integer, whatever its width. */
static int64_t integer_of(const struct column *column, const void *record)
{
	const char *member = (const char *)record + column->offset;
	int64_t wide;
	size_t size;
	int narrow;

	switch (column->type) {
	case COLUMN_INT:
	case COLUMN_WORD:
		memcpy(&narrow, member, sizeof(narrow));
		return narrow;
	case COLUMN_FLAG:
		return *(const bool *)member;
	case COLUMN_SIZE:
		memcpy(&size, member, sizeof(size));
		return (int64_t)size;
	case COLUMN_INTEGER:
	case COLUMN_REAL:
	case COLUMN_TEXT:
		break;
	}
	memcpy(&wide, member, sizeof(wide));
	return wide;
}

static double real_of(const struct column *column, const void *record)
{
	double value;

	memcpy(&value, (const char *)record + column->offset, sizeof(value));
	return value + 0.0; /* -0 becomes 0 */
}

void columns_put(struct sql *sql, const struct column *columns, const void *record)
{
	for (const struct column *column = columns; column->name; column++) {
		if (column->type == COLUMN_REAL)
			sql_put_real(sql, real_of(column, record));
		else if (column->type == COLUMN_TEXT)
			sql_put_text(sql, (const char *)record + column->offset);
		else if (column->type == COLUMN_WORD)
			sql_put_text(sql, column->words->text((int)integer_of(column, record)));
		else
			sql_put_integer(sql, integer_of(column, record));
	}
}

static void take_word(struct sql *sql, const struct column *column, char *member)
{
	char word[STORE_NAME_SIZE];
	int value = 0;

	sql_take_text(sql, word, sizeof(word));
	if (word[0] != '\0' || column->words->text(0)[0] != '\0') {
		if (sql->status == STORE_OK && !column->words->parse(word, &value))
			sql_damaged(sql, "a word that this program does not know");
	}
	memcpy(member, &value, sizeof(value));
}

static void take_integer(struct sql *sql, const struct column *column, char *member)
{
	int64_t value = sql_take_integer(sql);
	int64_t low = 0, high = INT64_MAX;

	if (column->type == COLUMN_INTEGER)
		low = INT64_MIN;
	else if (column->type == COLUMN_INT)
		low = INT32_MIN, high = INT32_MAX;
	else if (column->type == COLUMN_FLAG)
		high = 1;
	if (value < low || value > high)
		sql_damaged(sql, "a number out of its range");
	if (sql->status != STORE_OK)
		value = 0;
	if (column->type == COLUMN_INT)
		memcpy(member, &(int){(int)value}, sizeof(int));
	else if (column->type == COLUMN_FLAG)
		*(bool *)member = value != 0;
	else if (column->type == COLUMN_SIZE)
		memcpy(member, &(size_t){(size_t)value}, sizeof(size_t));
	else
		memcpy(member, &value, sizeof(value));
}

void columns_take(struct sql *sql, const struct column *columns, void *record)
{
	for (const struct column *column = columns; column->name; column++) {
		char *member = (char *)record + column->offset;

		if (column->type == COLUMN_REAL)
			memcpy(member, &(double){sql_take_real(sql)}, sizeof(double));
		else if (column->type == COLUMN_TEXT)
			sql_take_text(sql, member, column->size);
		else if (column->type == COLUMN_WORD)
			take_word(sql, column, member);
		else
			take_integer(sql, column, member);
	}
}

bool columns_equal(const struct column *column, const void *one, const void *other)
{
	if (column->type == COLUMN_TEXT)
		return strcmp((const char *)one + column->offset,
			       (const char *)other + column->offset) == 0;
	if (column->type != COLUMN_REAL)
		return integer_of(column, one) == integer_of(column, other);
	double a = real_of(column, one), b = real_of(column, other);
	return memcmp(&a, &b, sizeof(a)) == 0;
}

bool columns_same(const struct column *columns, const void *one, const void *other)
{
	for (const struct column *column = columns; column->name; column++) {
		if (!columns_equal(column, one, other))
			return false;
	}
	return true;
}

void columns_text(const struct column *column, const void *record, char *text, size_t size)
{
	const char *member = (const char *)record + column->offset;

	if (column->type == COLUMN_TEXT)
		snprintf(text, size, "%s", member);
	else if (column->type == COLUMN_WORD)
		snprintf(text, size, "%s", column->words->text((int)integer_of(column, record)));
	else if (column->type == COLUMN_REAL)
		snprintf(text, size, "%.17g", real_of(column, record));
	else
		snprintf(text, size, "%" PRId64, integer_of(column, record));
}
