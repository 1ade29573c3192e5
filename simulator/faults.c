/* SPDX-License-Identifier: MIT
 *
 * The table of kinds, the reader of rules, and when a rule strikes.
 */
#include "faults.h"

#include "base/clocks.h"
#include "base/decimal.h"
#include "base/text.h"

#include <assert.h>
#include <math.h>
#include <string.h>

struct entry {
	const char *name, *summary;
	double for_s;          /* how long it lasts unless told otherwise; 0: it befalls one line */
	const char *parameter; /* NULL: it has none */
	double value, least, most;
};

/* clang-format off */
static const struct entry table[FAULTS_COUNT] = {
	[FAULTS_STUCK] = { "stuck", "the value stands still", 1, NULL, 0, 0, 0 },
	[FAULTS_SPIKE] = { "spike", "a load that is not there, newton=50000 too much",
		0, "newton", 50000, -1e7, 1e7 },
	[FAULTS_UNIT] = { "unit", "the same load in another unit: lbf, or kN where it was lbf",
		1, NULL, 0, 0, 0 },
	[FAULTS_HALF] = { "half", "the line breaks off in the middle", 0, NULL, 0, 0, 0 },
	[FAULTS_NUL] = { "nul", "bytes of the line become NUL, bytes=2 of them",
		0, "bytes", 2, 1, 64 },
	[FAULTS_GARBAGE] = { "garbage", "random bytes instead of the line", 0, NULL, 0, 0, 0 },
	[FAULTS_BAUD] = { "baud", "framing noise: as read at ratio=0.5 times the speed of the line",
		1, "ratio", 0.5, 0.1, 4 },
	[FAULTS_DROP] = { "drop", "the line is not sent", 0, NULL, 0, 0, 0 },
	[FAULTS_FLOOD] = { "flood", "the line again and again, as fast as baud=921600 carries it",
		1, "baud", 921600, 1200, 4e6 },
	[FAULTS_ENDLESS] = { "endless", "digits without an end of line, rate=1e6 bytes a second",
		1, "rate", 1e6, 1, 1e7 },
	[FAULTS_BURST] = { "burst", "lines are held back and sent lines=2 at once",
		1, "lines", 2, 1, 200 },
	[FAULTS_BYTES] = { "bytes", "one byte at a time", 1, NULL, 0, 0, 0 },
	[FAULTS_SILENCE] = { "silence", "nothing is sent", 1, NULL, 0, 0, 0 },
	[FAULTS_REBOOT] = { "reboot", "silence, then an indicator's first words; tare=1: "
		"and a new zero", 1, "tare", 0, 0, 1 },
	[FAULTS_UNPLUG] = { "unplug", "the device goes and comes back under another name behind "
		"its link", 2, NULL, 0, 0, 0 },
	[FAULTS_LOCK] = { "lock", "another program holds the port", 1, NULL, 0, 0, 0 },
};
/* clang-format on */

enum faults_kind faults_find(const char *name)
{
	for (int kind = 0; kind < FAULTS_COUNT; kind++)
		if (strcmp(table[kind].name, name) == 0)
			return (enum faults_kind)kind;
	return FAULTS_NONE;
}

const char *faults_name(enum faults_kind kind)
{
	return table[kind].name;
}

bool faults_lasts(enum faults_kind kind)
{
	return table[kind].for_s > 0;
}

const char *faults_help(void)
{
	static char help[4096];
	struct text text;
	text_init(&text, help, sizeof help);
	text_put(&text,
		"A fault is KIND[=P][,at=S][,for=S]: with probability P per line, or once in "
		"each curve S seconds after its beginning, else from the beginning on; what "
		"lasts does so for the seconds given, else 1 s (unplug 2 s) where it has a "
		"P or a time, else always. KIND, with its own parameter as NAME=X:\n");
	for (int kind = 0; kind < FAULTS_COUNT; kind++)
		text_format(&text, "\n  %-8s %s", table[kind].name, table[kind].summary);
	assert(!text.overflow);
	return help;
}

/* ---- rules */

static bool parse_value(const char *text, size_t length, double least, double most, double *value)
{
	struct decimal decimal;
	if (!decimal_parse(text, length, &decimal))
		return false;
	*value = decimal_double(decimal);
	return *value >= least && *value <= most;
}

/* One NAME=X; NULL, or what it should be. */
static const char *take_parameter(
	const char *word, size_t length, const struct entry *entry, struct faults_rule *rule)
{
	size_t name = strcspn(word, "=");
	const char *value = word + name + 1;
	size_t value_length = length > name ? length - name - 1 : 0;
	if (name == 2 && memcmp(word, "at", 2) == 0)
		return parse_value(value, value_length, 0, 3600, &rule->at_s)
			       ? NULL
			       : "at= takes 0 to 3600 s";
	if (name == 3 && memcmp(word, "for", 3) == 0 && entry->for_s > 0)
		return parse_value(value, value_length, 0.001, 3600, &rule->for_s)
			       ? NULL
			       : "for= takes 0.001 to 3600 s";
	if (entry->parameter == NULL || strlen(entry->parameter) != name ||
		memcmp(entry->parameter, word, name) != 0)
		return "it has no such parameter";
	return parse_value(value, value_length, entry->least, entry->most, &rule->value)
		       ? NULL
		       : "the value is out of range";
}

bool faults_parse(const char *text, struct faults_rule *rule, struct message *why)
{
	char name[16] = "";
	size_t length = strcspn(text, "=,"), end = strcspn(text, ",");
	if (length < sizeof name)
		memcpy(name, text, length);
	enum faults_kind kind = faults_find(name);
	if (kind == FAULTS_NONE)
		return message_set(why, "'%s': no such fault; --help names them", text);
	const struct entry *entry = &table[kind];
	*rule = (struct faults_rule){.kind = kind, .at_s = -1, .for_s = NAN, .value = entry->value};
	if (text[length] == '=' &&
		!parse_value(text + length + 1, end - length - 1, 0, 1, &rule->probability))
		return message_set(why, "'%s': a probability is a number from 0 to 1", text);
	while (text[end] == ',') {
		const char *word = text + end + 1;
		size_t word_length = strcspn(word, ",");
		const char *wrong = take_parameter(word, word_length, entry, rule);
		if (wrong != NULL)
			return message_set(
				why, "'%s', '%.*s': %s", text, (int)word_length, word, wrong);
		end += 1 + word_length;
	}
	bool always = rule->at_s < 0 && text[length] != '=';
	if (isnan(rule->for_s))
		rule->for_s = always ? INFINITY : entry->for_s;
	return true;
}

/* ---- when */

static int64_t end_ns(int64_t now_ns, double for_s)
{
	return isinf(for_s) ? INT64_MAX : now_ns + llround(for_s * (double)CLOCKS_NS_PER_S);
}

void faults_init(struct faults *faults, const struct faults_plan *plan)
{
	*faults = (struct faults){.plan = plan};
	for (int kind = 0; kind < FAULTS_COUNT; kind++) {
		faults->value[kind] = table[kind].value;
		faults->until_ns[kind] = INT64_MIN;
	}
	for (size_t i = 0; i < plan->count; i++) {
		const struct faults_rule *rule = &plan->rules[i];
		faults->value[rule->kind] = rule->value;
		if (rule->probability == 0 && rule->at_s < 0)
			faults->until_ns[rule->kind] = end_ns(0, rule->for_s);
	}
}

/* Draws a number for each rule that has a probability, whatever has struck already. */
static bool strikes(struct faults *faults, size_t i, struct random *random, int64_t since_ns)
{
	const struct faults_rule *rule = &faults->plan->rules[i];
	if (since_ns <= 0)
		faults->fired[i] = false;
	if (rule->probability > 0 && random_unit(random) < rule->probability)
		return true;
	if (rule->at_s < 0 || faults->fired[i] || since_ns < end_ns(0, rule->at_s))
		return false;
	faults->fired[i] = true;
	return true;
}

void faults_step(struct faults *faults, struct random *random, int64_t now_ns, int64_t since_ns)
{
	for (int kind = 0; kind < FAULTS_COUNT; kind++) {
		faults->in_force[kind] = now_ns < faults->until_ns[kind] || faults->told[kind];
		faults->told[kind] = false;
	}
	for (size_t i = 0; i < faults->plan->count; i++) {
		const struct faults_rule *rule = &faults->plan->rules[i];
		if (!strikes(faults, i, random, since_ns))
			continue;
		faults->in_force[rule->kind] = true;
		if (faults_lasts(rule->kind))
			faults->until_ns[rule->kind] = end_ns(now_ns, rule->for_s);
	}
}

void faults_begin(struct faults *faults, enum faults_kind kind)
{
	if (faults_lasts(kind))
		faults->until_ns[kind] = INT64_MAX;
	else
		faults->told[kind] = true;
}

void faults_mend(struct faults *faults)
{
	for (int kind = 0; kind < FAULTS_COUNT; kind++)
		faults->until_ns[kind] = INT64_MIN;
}
