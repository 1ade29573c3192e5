/* SPDX-License-Identifier: MIT
 *
 * How a cell's protocol is set up: the types of its keys, which of them go together, and what an
 * example of its bytes decodes to.
 */
#include "config_cell.h"

#include <assert.h>
#include <ctype.h>
#include <stdlib.h>
#include <string.h>

static bool read_pattern(
	const struct config_key *key, const char *text, void *target, struct message *why)
{
	struct message reason = {""};

	if (pattern_compile(text, target, &reason))
		return true;
	return message_set(why, "%s = %s: %s", key->name, text, reason.text);
}

static void write_pattern(const void *target, struct text *text)
{
	const struct pattern *pattern = target;

	text_put(text, pattern->text);
}

const struct config_type config_type_pattern = {"pattern", read_pattern, write_pattern};

/* ---- choices */

static const char *const REQUESTS[] = {"none", "each", "repeated", NULL};

static bool read_request(
	const struct config_key *key, const char *text, void *target, struct message *why)
{
	int chosen = 0;

	if (!config_read_choice(key, text, REQUESTS, &chosen, why))
		return false;
	*(enum config_request *)target = (enum config_request)(chosen + CONFIG_REQUEST_NONE);
	return true;
}

static void write_request(const void *target, struct text *text)
{
	enum config_request request = *(const enum config_request *)target;

	if (request != CONFIG_REQUEST_USUAL)
		text_put(text, REQUESTS[request - CONFIG_REQUEST_NONE]);
}

const struct config_type config_type_request = {"choice", read_request, write_request};

enum { HOLDING = 3, INPUT = 4 };

static const char *const REGISTERS[] = {"holding", "input", NULL};

static bool read_registers(
	const struct config_key *key, const char *text, void *target, struct message *why)
{
	int chosen = 0;

	if (!config_read_choice(key, text, REGISTERS, &chosen, why))
		return false;
	*(int *)target = HOLDING + chosen;
	return true;
}

static void write_registers(const void *target, struct text *text)
{
	text_put(text, REGISTERS[*(const int *)target - HOLDING]);
}

const struct config_type config_type_registers = {"choice", read_registers, write_registers};

static const char *const TYPES[] = {"int16", "uint16", "int32", "uint32", "float32", NULL};

static bool read_register_type(
	const struct config_key *key, const char *text, void *target, struct message *why)
{
	int chosen = 0;

	if (!config_read_choice(key, text, TYPES, &chosen, why))
		return false;
	*(enum modbus_type *)target = (enum modbus_type)chosen;
	return true;
}

static void write_register_type(const void *target, struct text *text)
{
	text_put(text, TYPES[*(const enum modbus_type *)target]);
}

const struct config_type config_type_register_type = {
	"choice", read_register_type, write_register_type};

static const char *const ORDERS[] = {"abcd", "cdab", "badc", "dcba", NULL};

static bool read_word_order(
	const struct config_key *key, const char *text, void *target, struct message *why)
{
	int chosen = 0;

	if (!config_read_choice(key, text, ORDERS, &chosen, why))
		return false;
	*(enum modbus_order *)target = (enum modbus_order)chosen;
	return true;
}

static void write_word_order(const void *target, struct text *text)
{
	text_put(text, ORDERS[*(const enum modbus_order *)target]);
}

const struct config_type config_type_word_order = {"choice", read_word_order, write_word_order};

/* ---- area: kept in square metres, exactly */

static const struct {
	const char *name;
	struct decimal square_metres;
} AREAS[] = {
	{"mm2", {1, -6}}, {"cm2", {1, -4}}, {"m2", {1, 0}}, {"in2", {64516, -8}}, /* (0.0254 m)2 */
};

/* Exact, or false. */
static bool multiply(struct decimal a, struct decimal b, struct decimal *product)
{
	struct decimal result = {.exponent = a.exponent + b.exponent};

	if (__builtin_mul_overflow(a.mantissa, b.mantissa, &result.mantissa) ||
		llabs(result.mantissa) >= INT64_C(1000000000000000000))
		return false;
	while (result.mantissa != 0 && result.mantissa % 10 == 0 && result.exponent < 0) {
		result.mantissa /= 10;
		result.exponent++;
	}
	*product = result;
	return result.exponent >= -18 && result.exponent <= 18;
}

static bool read_area(
	const struct config_key *key, const char *text, void *target, struct message *why)
{
	struct decimal number, area;
	const char *unit = "";

	bool ok = config_split_quantity(text, &number, &unit) && number.mantissa > 0;
	for (size_t i = 0; ok && i < sizeof AREAS / sizeof AREAS[0]; i++) {
		if (strcmp(AREAS[i].name, unit) != 0 ||
			!multiply(number, AREAS[i].square_metres, &area))
			continue;
		*(struct decimal *)target = area;
		return true;
	}
	return message_set(why,
		"%s = %s: an area above 0 in mm2, cm2, m2 or in2 is meant, as in 506.7 cm2",
		key->name, text);
}

static void write_area(const void *target, struct text *text)
{
	double square_metres = decimal_double(*(const struct decimal *)target);

	if (square_metres > 0)
		text_format(text, "%.12g cm2", square_metres * 1e4);
}

const struct config_type config_type_area = {"area", read_area, write_area};

/* ---- bytes, as text with escapes */

static int hex_digit(char c)
{
	return isdigit((unsigned char)c)    ? c - '0'
	       : isxdigit((unsigned char)c) ? (c | 0x20) - 'a' + 10
					    : -1;
}

/* One byte from an escape at *at, which is moved behind it. */
static bool read_escape(const char **at, unsigned char *byte)
{
	const char *c = *at + 1;

	*at += 2;
	switch (*c) {
	case 'n':
		*byte = '\n';
		return true;
	case 'r':
		*byte = '\r';
		return true;
	case '\\':
		*byte = '\\';
		return true;
	case 'x':
		if (hex_digit(c[1]) < 0 || hex_digit(c[2]) < 0)
			return false;
		*byte = (unsigned char)(hex_digit(c[1]) * 16 + hex_digit(c[2]));
		*at += 2;
		return true;
	default:
		return false;
	}
}

static bool read_bytes(
	const struct config_key *key, const char *text, void *target, struct message *why)
{
	struct config_bytes *bytes = target;
	size_t length = strlen(text);
	const char *at = text, *end = text + length;

	*bytes = (struct config_bytes){.length = 0};
	if (length >= sizeof bytes->text)
		return message_set(
			why, "%s is longer than %zu characters", key->name, sizeof bytes->text - 1);
	/* Quotes keep blanks at both ends. */
	if (length >= 2 && text[0] == '"' && text[length - 1] == '"') {
		at++;
		end--;
	}
	while (at < end) {
		unsigned char *byte = &bytes->bytes[bytes->length++];

		if (*at != '\\')
			*byte = (unsigned char)*at++;
		else if (!read_escape(&at, byte) || at > end)
			return message_set(why,
				"%s = %s: a backslash is followed by n, r, xHH or a backslash",
				key->name, text);
	}
	strcpy(bytes->text, text); /* last: a text that was refused is none */
	return true;
}

static void write_bytes(const void *target, struct text *text)
{
	const struct config_bytes *bytes = target;

	text_put(text, bytes->text);
}

const struct config_type config_type_bytes = {"bytes", read_bytes, write_bytes};

/* ---- what goes together */

static bool settle_scale(
	struct config_cell *cell, bool factor_given, const char **key, struct message *why)
{
	enum units_kind kind = units_kind(cell->scale.unit);
	const char *unit = units_text(cell->scale.unit);
	bool has_area = cell->area_m2.mantissa > 0;

	*key = "unit";
	if (kind == UNITS_PRESSURE && !has_area)
		return message_set(why,
			"unit = %s: a pressure is no load; set the indicator to a force, or give "
			"the area of the ram that it acts on, as in area = 506.7 cm2",
			unit);
	if (kind == UNITS_SIGNAL && !factor_given)
		return message_set(why,
			"unit = %s: give the newtons that one of them stands for, as in factor = "
			"12.5",
			unit);
	*key = "area";
	if (kind != UNITS_PRESSURE && has_area)
		return message_set(
			why, "area is for pressures, and unit = %s is none: take it out", unit);
	cell->scale.factor = cell->factor;
	if (has_area && !multiply(cell->factor, cell->area_m2, &cell->scale.factor))
		return message_set(
			why, "area and factor have too many digits together: give fewer");
	return true;
}

static bool settle_request(struct config_cell *cell, const char **key, struct message *why)
{
	const struct decoder *decoder = cell->decoder;

	*key = "request";
	if (cell->request == CONFIG_REQUEST_USUAL)
		cell->request = decoder->ask ? CONFIG_REQUEST_EACH : CONFIG_REQUEST_NONE;
	if (cell->request == CONFIG_REQUEST_EACH && !decoder->ask)
		return message_set(why, "request = each: %s has nothing to ask with: take it out",
			decoder->name);
	if (cell->request == CONFIG_REQUEST_REPEATED && !decoder->ask_repeated)
		return message_set(why, "request = repeated: %s has no such request: take it out",
			decoder->name);
	if (cell->request == CONFIG_REQUEST_NONE && decoder->addressed)
		return message_set(why,
			"request = none: %s instruments do not send unasked: take it out",
			decoder->name);
	cell->port.writes = cell->request != CONFIG_REQUEST_NONE;
	return true;
}

/* ---- the example */

static void describe_status(unsigned status, struct text *text)
{
	static const struct {
		unsigned bit;
		const char *name;
	} NAMES[] = {
		{READING_OVER, "over"},
		{READING_UNDER, "under"},
		{READING_MOTION, "motion"},
		{READING_ZERO, "zero"},
		{READING_ZERO_ERROR, "zero_error"},
		{READING_INVALID, "invalid"},
	};

	for (size_t i = 0; i < sizeof NAMES / sizeof NAMES[0]; i++) {
		if (status & NAMES[i].bit)
			text_format(text, ", %s", NAMES[i].name);
	}
}

static void describe_value(struct decimal value, struct text *text)
{
	char digits[24];

	if (value.exponent <= 0)
		decimal_text(value.mantissa, -value.exponent, digits);
	text_put(text, value.exponent <= 0 ? digits : "a large number");
}

static void describe(
	const struct config_cell *cell, const struct reading *reading, struct text *text)
{
	enum unit unit = !reading->unit && cell->has_scale ? cell->scale.unit : reading->unit;
	int64_t load_un = 0;

	if (reading->status & READING_INVALID)
		text_put(text, "no value");
	else
		describe_value(reading->value, text);
	text_format(text, "%s%s", unit ? " " : "", units_text(unit));
	describe_status(reading->status, text);
	if (cell->setup.pattern.counter.present)
		text_format(text, ", %s %lld",
			cell->setup.pattern.counter.per_reading ? "sequence" : "time in ns",
			(long long)reading->counter);
	if (!cell->has_scale) {
		text_put(text, "; what load that is cannot be told");
		return;
	}
	enum scale_error error = scale_apply(&cell->scale, reading, &load_un);
	if (error != SCALE_OK)
		text_format(text, ": no load; %s", scale_error_text(error));
	else
		text_format(text, ": a load of %.10g N%s", (double)load_un / (double)UNITS_UN_PER_N,
			load_un < 0 ? ", below zero: where that came under load, factor has the "
				      "wrong sign"
				    : "");
}

static bool decode_example(
	const struct config_cell *cell, struct reading *reading, struct message *why)
{
	unsigned char bytes[CONFIG_EXAMPLE_SIZE + 1];
	const struct config_bytes *example = &cell->example;
	const struct decoder *decoder = cell->decoder;
	enum decoder_error error = DECODER_OK;
	size_t length = example->length;

	memcpy(bytes, example->bytes, length);
	int used = decoder->decode(&cell->setup, bytes, length, reading, &error);
	if (used == 0) {
		/* A line may be given without its end. */
		bytes[length++] = cell->setup.pattern.end ? cell->setup.pattern.end : '\r';
		used = decoder->decode(&cell->setup, bytes, length, reading, &error);
	}
	if (used == 0)
		return message_set(why, "example = %s: no whole frame of %s: give all of its bytes",
			example->text, decoder->name);
	if (used < 0)
		return message_set(why,
			"example = %s: %s: give what the indicator sends, or correct what it is "
			"read with",
			example->text, decoder_error_text(error));
	return true;
}

/* An example of what the daemon would refuse says that the config is wrong. */
static bool is_for_cell(
	const struct config_cell *cell, const struct reading *reading, struct message *why)
{
	int64_t load_un = 0;
	enum scale_error error =
		cell->has_scale ? scale_apply(&cell->scale, reading, &load_un) : SCALE_OK;

	if (error == SCALE_OK || error == SCALE_NOT_VALID || error == SCALE_NO_ZERO)
		return true;
	return message_set(why, "example = %s: %s", cell->example.text, scale_error_text(error));
}

bool config_cell_example(const struct config_cell *cell, struct text *text, struct message *why)
{
	struct reading reading;

	if (!decode_example(cell, &reading, why))
		return false;
	describe(cell, &reading, text);
	return true;
}

bool config_cell_load(const struct config_cell *cell, int64_t *load_un)
{
	struct reading reading;

	return cell->has_scale && cell->example.text[0] && decode_example(cell, &reading, NULL) &&
	       scale_apply(&cell->scale, &reading, load_un) == SCALE_OK;
}

/* ---- all of it */

bool config_cell_settle(
	struct config_cell *cell, bool factor_given, const char **key, struct message *why)
{
	struct reading reading;

	if (cell->has_scale) {
		cell->has_scale = settle_scale(cell, factor_given, key, why);
		if (!cell->has_scale)
			return false;
	}
	if (!settle_request(cell, key, why))
		return false;
	*key = "example";
	return cell->example.text[0] == '\0' ||
	       (decode_example(cell, &reading, why) && is_for_cell(cell, &reading, why));
}
