/* SPDX-License-Identifier: MIT
 *
 * Section by section and key by key, and at the end what must hold between them. A file's every
 * error is told, and a method with an error is none.
 */
#include "result/method_read.h"

#include "base/ini_lines.h"
#include "base/text.h"
#include "result/method_keys.h"

#include <assert.h>
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

/* No standard's window is known; this one goes with a band of a fifth. */
static const int64_t window_default_ns = 5 * CLOCKS_NS_PER_S;

/* ---- one file */

struct reading_file {
	const char *source;
	struct method *method;
	method_complain *complain;
	void *context;
	size_t error_count;
	const char *section;         /* a section of the table, NULL: none that is known */
	int lines[METHOD_KEY_COUNT]; /* where each key stood last; 0: it did not */
};

static void complain(struct reading_file *file, int line, const char *format, ...)
	__attribute__((format(printf, 3, 4)));

static void complain(struct reading_file *file, int line, const char *format, ...)
{
	char text[2 * MESSAGE_SIZE];
	int length = line ? snprintf(text, sizeof text, "%.255s:%d: ", file->source, line)
			  : snprintf(text, sizeof text, "%.255s: ", file->source);
	va_list arguments;
	va_start(arguments, format);
	vsnprintf(text + length, sizeof text - (size_t)length, format, arguments);
	va_end(arguments);
	file->error_count++;
	file->complain(file->context, text);
}

static void take_section(void *context, int line, char *text)
{
	struct reading_file *file = context;
	file->section = NULL;
	for (size_t i = 0; text && i < METHOD_KEY_COUNT; i++) {
		if (strcmp(method_keys[i].section, text) == 0)
			file->section = method_keys[i].section;
	}
	if (text && !file->section)
		complain(file, line,
			"unknown section [%.64s]: method, specimen, rate, strength, age, "
			"precision, fracture or clause is meant",
			text);
}

/* A key of another section, or misspelt: those of this one are few enough to be named. */
static void complain_of_key(struct reading_file *file, int line, const char *name)
{
	char buffer[MESSAGE_SIZE];
	struct text known;
	text_init(&known, buffer, sizeof buffer);
	for (size_t i = 0; i < METHOD_KEY_COUNT; i++) {
		if (strcmp(method_keys[i].section, file->section) == 0)
			text_format(&known, "%s%s", known.length ? ", " : "", method_keys[i].name);
	}
	complain(file, line, "unknown key %.64s in [%s]: one of %s is meant", name, file->section,
		known.overflow ? "others" : buffer);
}

static void take_key(void *context, int line, const char *name, const char *value)
{
	struct reading_file *file = context;
	char buffer[INI_LINES_MAX + 1];
	struct message why = {{0}};
	size_t i = 0;
	if (!file->section)
		return;
	while (i < METHOD_KEY_COUNT && (strcmp(method_keys[i].section, file->section) != 0 ||
					       strcmp(method_keys[i].name, name) != 0))
		i++;
	if (i == METHOD_KEY_COUNT) {
		complain_of_key(file, line, name);
		return;
	}
	if (file->lines[i] && !method_keys[i].often)
		complain(file, line, "%s was given on line %d already", name, file->lines[i]);
	file->lines[i] = line;
	snprintf(buffer, sizeof buffer, "%s", value);
	if (!method_keys[i].read(&method_keys[i], buffer, file->method, &why))
		complain(file, line, "%s = %s: %s", name, value,
			why.text[0] ? why.text : method_keys[i].shape);
}

static void take_wrong(void *context, int line, const char *what)
{
	complain(context, line, "%s", what);
}

static int line_of(const struct reading_file *file, const char *section, const char *name)
{
	for (size_t i = 0; i < METHOD_KEY_COUNT; i++) {
		if (strcmp(method_keys[i].section, section) == 0 &&
			strcmp(method_keys[i].name, name) == 0)
			return file->lines[i];
	}
	assert(false);
	return 0;
}

static void check_given(struct reading_file *file)
{
	static const char *const needed[][2] = {{"method", "name"}, {"method", "standard"},
		{"method", "units"}, {"specimen", "shapes"}, {"rate", "from"},
		{"strength", "report"}};
	for (size_t i = 0; i < sizeof needed / sizeof needed[0]; i++) {
		if (!line_of(file, needed[i][0], needed[i][1]))
			complain(file, 0, "[%s] needs a line %s = ...", needed[i][0], needed[i][1]);
	}
}

static void check_name(struct reading_file *file)
{
	const char *name = file->method->name;
	const char *slash = strrchr(file->source, '/');
	const char *base = slash ? slash + 1 : file->source;
	size_t length = strlen(name);
	int line = line_of(file, "method", "name");
	if (!line)
		return;
	if (strspn(name, "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789._-") !=
		length)
		complain(file, line, "name = %s: letters, digits, dots and dashes are meant", name);
	else if (strncmp(base, name, length) != 0 || strcmp(base + length, ".ini") != 0)
		complain(file, line, "name = %s: the file must be named %s.ini", name, name);
}

/* Exactly one of band, chosen and time, with what belongs to it. */
static void check_rate(struct reading_file *file)
{
	struct method *method = file->method;
	int band = line_of(file, "rate", "band"), chosen = line_of(file, "rate", "chosen");
	int time = line_of(file, "rate", "time");
	bool unit = line_of(file, "rate", "unit");
	if ((band != 0) + (chosen != 0) + (time != 0) != 1) {
		complain(file, 0, "[rate] needs one of band, chosen and time, and only one");
		return;
	}
	if (!time && !unit)
		complain(file, 0, "[rate] needs a line unit = ...");
	if (chosen && !(method->chosen_default >= method->chosen_low &&
			      method->chosen_default <= method->chosen_high &&
			      method->chosen_tolerance > 0 && method->chosen_tolerance < 1))
		complain(file, chosen,
			"chosen needs default = within its range, and tolerance = below 100 %%");
	if (time && !method->basis_anticipated)
		complain(file, time,
			"a time is counted from the load expected: basis = anticipated");
	if (time && method->span_to == 0)
		method->span_to = 1;
	if (time && !unit)
		method->rate_unit = method->inch_pound ? RATE_UNIT_PSI_S : RATE_UNIT_MPA_S;
	if (unit && rate_unit_is_inch_pound(method->rate_unit) != method->inch_pound)
		complain(file, line_of(file, "rate", "unit"),
			"a rate in %s in a method of the other system of units",
			rate_unit_text(method->rate_unit));
	if (method->window_ns == 0)
		method->window_ns = window_default_ns;
	if (!(method->span_from < method->span_to && method->span_to <= 1))
		complain(file, line_of(file, "rate", "from"),
			"from must lie below to, and to at 100 %% or below");
}

static void check_strength(struct reading_file *file)
{
	const struct method *method = file->method;
	int factor = line_of(file, "strength", "factor");
	bool limit = method->factor_ratio_max != 0;
	if (limit != (factor != 0))
		complain(file, factor,
			"factors and one of factor_at_most and factor_below go together");
	else if (method->factor_count > 0 && method->factors[0].ratio < method->factor_ratio_max)
		complain(file, factor, "the first factor must be for %g or more",
			method->factor_ratio_max);
	if (method->factor_count > 0 &&
		method->factors[method->factor_count - 1].ratio != method->ratio_min)
		complain(file, factor,
			"the last factor must be for ratio_least: nothing is extrapolated");
	bool psi = strcmp(method->report_unit, "psi") == 0;
	if (method->report_unit[0] && psi != method->inch_pound)
		complain(file, line_of(file, "strength", "report"),
			"a strength in %s in a method of the other system of units",
			method->report_unit);
}

static void check_shapes(struct reading_file *file)
{
	const struct method *method = file->method;
	unsigned flexure = 1U << SHAPE_BEAM, splitting = 1U << SHAPE_CYLINDER;
	int line = line_of(file, "specimen", "shapes");
	if (method->formula == METHOD_FLEXURE && method->shapes != flexure)
		complain(file, line, "flexure is of beams");
	if (method->formula == METHOD_SPLITTING && method->shapes != splitting)
		complain(file, line, "splitting is of cylinders");
	if (method->formula == METHOD_COMPRESSION && (method->shapes & flexure))
		complain(file, line, "a beam is not tested in compression");
	if (method->clause_count > 0 && method->unsure_count > 0)
		complain(file, line_of(file, "clause", "clause"),
			"clauses are only for a file whose every value was read in the standard: "
			"it still says unsure = ... on line %d",
			line_of(file, "method", "unsure"));
}

bool method_read(const char *text, size_t size, const char *source, struct method *method,
	method_complain *take, void *context)
{
	struct reading_file file = {
		.source = source, .method = method, .complain = take, .context = context};
	const struct ini_lines lines = {&file, take_section, take_key, take_wrong};
	*method = (struct method){0};
	if (size == 0 || size >= METHOD_TEXT_SIZE || memchr(text, '\0', size)) {
		complain(&file, 0, "a method's file has 1 to %d bytes and no zero among them",
			METHOD_TEXT_SIZE - 1);
		return false;
	}
	assert(text[size] == '\0');
	method->text = text;
	FILE *stream = fmemopen((char *)text, size, "r");
	if (!stream) {
		complain(&file, 0, "memory is short");
		return false;
	}
	ini_lines_parse(&lines, stream);
	fclose(stream);
	check_given(&file);
	check_name(&file);
	check_rate(&file);
	check_strength(&file);
	check_shapes(&file);
	return file.error_count == 0;
}
