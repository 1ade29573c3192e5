/* SPDX-License-Identifier: MIT
 *
 * From the text of a pattern to its steps. What stands in braces is cut into words; the first one
 * finds a row of a table, which says what the others may be.
 */
#include "measure/pattern.h"

#include <assert.h>
#include <ctype.h>
#include <string.h>

/* clang-format off */
const struct pattern pattern_standard = {
	.text = "{load OL=over} {unit?}",
	.step_count = 3,
	.steps = {
		{.kind = PATTERN_LOAD, .word = 0, .word_count = 1},
		{.kind = PATTERN_BLANKS, .word = 1},
		{.kind = PATTERN_UNIT, .word = 1, .optional = true},
	},
	.word_count = 1,
	.words = {{"OL", 2, READING_OVER}},
};
/* clang-format on */

struct compiler {
	struct pattern *pattern;
	struct pattern_step *step; /* being filled in */
	struct message *why;
	size_t at; /* in the text, where the braces open */
};

static bool complain(const struct compiler *compiler, const char *what, const char *word)
{
	return message_set(compiler->why, "pattern, character %zu: %s%s%s%s", compiler->at + 1,
		what, word ? " \"" : "", word ? word : "", word ? "\"" : "");
}

/* Digits alone, as a number from 1 to most. */
static bool read_count(const char *text, int64_t most, int64_t *count)
{
	struct decimal number;
	return isdigit((unsigned char)text[0]) && decimal_parse(text, strlen(text), &number) &&
	       number.exponent == 0 && number.mantissa >= 1 && number.mantissa <= most &&
	       (*count = number.mantissa) > 0;
}

static bool read_hex(const char *text, unsigned char *byte)
{
	static const char DIGITS[] = "0123456789abcdef";
	if (strlen(text) != 2)
		return false;
	const char *high = strchr(DIGITS, tolower((unsigned char)text[0]));
	const char *low = strchr(DIGITS, tolower((unsigned char)text[1]));
	if (!high || !low)
		return false;
	*byte = (unsigned char)((high - DIGITS) * 16 + (low - DIGITS));
	return true;
}

static bool read_status(const char *text, unsigned *status)
{
	static const struct {
		const char *name;
		unsigned status;
	} MEANINGS[] = {
		{"ok", 0},
		{"over", READING_OVER},
		{"under", READING_UNDER},
		{"motion", READING_MOTION},
		{"zero", READING_ZERO},
		{"zero_error", READING_ZERO_ERROR | READING_INVALID},
		{"invalid", READING_INVALID},
	};
	*status = 0;
	while (*text) {
		size_t length = strcspn(text, "+"), i = 0,
		       count = sizeof MEANINGS / sizeof *MEANINGS;
		while (i < count && (strlen(MEANINGS[i].name) != length ||
					    memcmp(MEANINGS[i].name, text, length) != 0))
			i++;
		if (i == count)
			return false;
		*status |= MEANINGS[i].status;
		text += length + (text[length] == '+');
	}
	return true;
}

/* "OL=over" */
static bool take_word(struct compiler *compiler, const char *option)
{
	struct pattern *pattern = compiler->pattern;
	const char *equals = strrchr(option, '=');
	size_t length = equals ? (size_t)(equals - option) : 0;
	unsigned status = 0;
	if (length == 0 || length >= PATTERN_WORD_SIZE || !read_status(equals + 1, &status))
		return complain(compiler,
			"TEXT=MEANING is meant, of ok, over, under, motion, zero, zero_error, "
			"invalid, and not",
			option);
	if (pattern->word_count == PATTERN_WORDS_MAX)
		return complain(compiler, "too many texts with a meaning", NULL);
	struct pattern_word *word = &pattern->words[pattern->word_count++];
	*word = (struct pattern_word){.length = length, .status = status};
	for (size_t i = 0; i < length; i++)
		word->text[i] = option[i] == '_' ? ' ' : option[i];
	compiler->step->word_count++;
	return true;
}

static bool take_width(struct compiler *compiler, const char *option)
{
	int64_t width = 0;
	if (!read_count(option, PATTERN_SIZE, &width))
		return complain(compiler, "a number of characters is meant, and not", option);
	compiler->step->width = (size_t)width;
	return true;
}

static bool take_load(struct compiler *compiler, const char *option)
{
	if (strcmp(option, "comma") == 0)
		compiler->step->comma = true;
	else if (strchr(option, '='))
		return take_word(compiler, option) &&
		       (compiler->pattern->words[compiler->pattern->word_count - 1].status ||
			       complain(compiler, "a text instead of the load cannot be ok", NULL));
	else
		return take_width(compiler, option);
	return true;
}

/* "10ms": a time as the config writes it, without a blank. */
static bool read_every(const char *text, int64_t *every_ns)
{
	static const struct {
		const char *unit;
		int places;
	} UNITS[] = {{"us", 3}, {"ms", 6}, {"s", 9}};
	struct decimal number;
	size_t length = strspn(text, "0123456789.");
	if (!decimal_parse(text, length, &number))
		return false;
	for (size_t i = 0; i < sizeof UNITS / sizeof *UNITS; i++) {
		if (strcmp(UNITS[i].unit, text + length) == 0)
			return decimal_scaled(number, UNITS[i].places, every_ns) && *every_ns > 0;
	}
	return false;
}

static bool take_sequence(struct compiler *compiler, const char *option)
{
	struct pattern_counter *counter = &compiler->pattern->counter;
	if (strncmp(option, "wrap=", 5) == 0 &&
		read_count(option + 5, INT64_C(1) << 53, &counter->wrap))
		return true;
	if (strncmp(option, "every=", 6) == 0 && read_every(option + 6, &counter->tick_ns))
		return true;
	if (!strchr(option, '='))
		return take_width(compiler, option);
	return complain(compiler, "wrap=65536 or every=10ms is meant, and not", option);
}

static bool take_time(struct compiler *compiler, const char *option)
{
	struct pattern_counter *counter = &compiler->pattern->counter;
	struct pattern_step *step = compiler->step;
	if (strcmp(option, "s") == 0)
		step->exponent = 0;
	else if (strcmp(option, "ms") == 0)
		step->exponent = -3;
	else if (strcmp(option, "us") == 0)
		step->exponent = -6;
	else if (strncmp(option, "wrap=", 5) == 0 &&
		 read_count(option + 5, INT64_C(1) << 53, &counter->wrap))
		return true;
	else if (strchr(option, '=') == NULL && isdigit((unsigned char)option[0]))
		return take_width(compiler, option);
	else
		return complain(compiler, "s, ms, us or wrap=4294967296 is meant, and not", option);
	return true;
}

static bool take_checksum(struct compiler *compiler, const char *option)
{
	static const char *const NAMES[] = {"xor", "sum", "crc16"};
	for (size_t i = 0; i < sizeof NAMES / sizeof *NAMES; i++) {
		if (strcmp(NAMES[i], option) != 0)
			continue;
		compiler->step->checksum = (enum pattern_checksum)i;
		compiler->step->width = i == PATTERN_CRC16 ? 4 : 2;
		return true;
	}
	return complain(compiler, "xor, sum or crc16 is meant, and not", option);
}

static bool take_nothing(struct compiler *compiler, const char *option)
{
	return complain(compiler, "nothing more is meant here, and not", option);
}

static const struct field {
	const char *name;
	enum pattern_kind kind;
	bool (*take)(struct compiler *compiler, const char *option);
	bool needs_option;
} FIELDS[] = {
	{"load", PATTERN_LOAD, take_load, false},
	{"unit", PATTERN_UNIT, take_width, false},
	{"unit?", PATTERN_UNIT, take_width, false},
	{"status", PATTERN_STATUS, take_word, true},
	{"skip", PATTERN_SKIP, take_width, false},
	{"sequence", PATTERN_SEQUENCE, take_sequence, false},
	{"time", PATTERN_TIME, take_time, true},
	{"checked", PATTERN_CHECKED, take_nothing, false},
	{"unchecked", PATTERN_UNCHECKED, take_nothing, false},
	{"checksum", PATTERN_CHECKSUM, take_checksum, true},
};

static bool add_step(struct compiler *compiler, enum pattern_kind kind)
{
	struct pattern *pattern = compiler->pattern;
	for (size_t i = 0; i < pattern->step_count; i++) {
		bool counter = kind == PATTERN_SEQUENCE || kind == PATTERN_TIME;
		bool counted = pattern->steps[i].kind == PATTERN_SEQUENCE ||
			       pattern->steps[i].kind == PATTERN_TIME;
		bool twice = kind == pattern->steps[i].kind && kind != PATTERN_LITERAL &&
			     kind != PATTERN_BLANKS && kind != PATTERN_SKIP &&
			     kind != PATTERN_STATUS;
		if (twice || (counter && counted))
			return complain(compiler, "this stands in the pattern already", NULL);
	}
	if (pattern->step_count == PATTERN_STEPS_MAX)
		return complain(compiler, "the pattern has too many parts", NULL);
	compiler->step = &pattern->steps[pattern->step_count++];
	*compiler->step = (struct pattern_step){.kind = kind, .word = pattern->word_count};
	return true;
}

static bool add_literal(struct compiler *compiler, unsigned char byte)
{
	if (!add_step(compiler, PATTERN_LITERAL))
		return false;
	compiler->step->literal = byte;
	return true;
}

/* {byte 02} and {end 03} */
static bool take_byte(struct compiler *compiler, const char *name, const char *option)
{
	unsigned char byte = 0;
	if (!option || !read_hex(option, &byte) || byte == 0)
		return complain(compiler, "two hex digits, and not 00, are meant after", name);
	if (name[0] == 'b')
		return add_literal(compiler, byte);
	compiler->pattern->end = byte;
	return true;
}

/* What belongs together once all options of a field are known. */
static bool finish_field(struct compiler *compiler)
{
	struct pattern_counter *counter = &compiler->pattern->counter;
	const struct pattern_step *step = compiler->step;
	if (step->kind == PATTERN_SEQUENCE) {
		counter->present = true;
		counter->per_reading = true;
	} else if (step->kind == PATTERN_TIME) {
		/* The clock is kept in nanoseconds; so is where it wraps. */
		struct decimal wrap = {counter->wrap, step->exponent};
		counter->present = true;
		counter->tick_ns = 1;
		if (!decimal_scaled(wrap, 9, &counter->wrap))
			return complain(compiler, "the clock wraps too late", NULL);
	}
	return true;
}

static bool take_field(struct compiler *compiler, char *text)
{
	char *rest = NULL, *name = strtok_r(text, " ", &rest), *option = strtok_r(NULL, " ", &rest);
	if (!name)
		return complain(compiler, "nothing stands in the braces", NULL);
	if (strcmp(name, "byte") == 0 || strcmp(name, "end") == 0)
		return take_byte(compiler, name, option);
	size_t i = 0, count = sizeof FIELDS / sizeof *FIELDS;
	while (i < count && strcmp(FIELDS[i].name, name) != 0)
		i++;
	if (i == count)
		return complain(compiler,
			"load, unit, unit?, status, skip, sequence, time, checked, unchecked, "
			"checksum, byte or end is meant, and not",
			name);
	if (!option && FIELDS[i].needs_option)
		return complain(compiler, "something is missing after", name);
	if (!add_step(compiler, FIELDS[i].kind))
		return false;
	assert(compiler->step);
	compiler->step->optional = strchr(name, '?') != NULL;
	for (; option; option = strtok_r(NULL, " ", &rest)) {
		if (!FIELDS[i].take(compiler, option))
			return false;
	}
	return finish_field(compiler);
}

/* Compiles what begins at text[compiler->at]; returns how many characters that was, 0: refused. */
static size_t compile_next(struct compiler *compiler, const char *text)
{
	const char *at = text + compiler->at;
	char field[PATTERN_SIZE];
	if (*at == ' ')
		return add_step(compiler, PATTERN_BLANKS) ? strspn(at, " ") : 0;
	if (at[0] != '{')
		return add_literal(compiler, (unsigned char)*at) ? 1 : 0;
	if (at[1] == '{')
		return add_literal(compiler, '{') ? 2 : 0;
	size_t length = strcspn(at, "}");
	if (at[length] != '}') {
		complain(compiler, "a brace is opened and not closed", NULL);
		return 0;
	}
	memcpy(field, at + 1, length - 1);
	field[length - 1] = '\0';
	return take_field(compiler, field) ? length + 1 : 0;
}

bool pattern_compile(const char *text, struct pattern *pattern, struct message *why)
{
	struct compiler compiler = {.pattern = pattern, .why = why};
	size_t length = strlen(text), loads = 0;
	*pattern = (struct pattern){.end = 0};
	if (length >= sizeof pattern->text)
		return message_set(
			why, "the pattern is longer than %zu characters", sizeof pattern->text - 1);
	memcpy(pattern->text, text, length + 1);
	while (compiler.at < length) {
		size_t used = compile_next(&compiler, text);
		if (used == 0)
			return false;
		compiler.at += used;
	}
	for (size_t i = 0; i < pattern->step_count; i++)
		loads += pattern->steps[i].kind == PATTERN_LOAD;
	if (loads == 0)
		return message_set(why, "the pattern does not say where the {load} stands");
	return true;
}
