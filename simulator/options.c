/* SPDX-License-Identifier: MIT
 *
 * The command line through argp. Numbers are one table {key, where, least, most}; what needs more
 * than a number has a small function of its own. Errors name the option and what it accepts.
 */
#include "options.h"

#include "base/text.h"

#include <argp.h>
#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

const char *argp_program_version = "rampsim " RAMPLOG_VERSION;

enum {
	KEY_FILE = 256,
	KEY_SHARES,
	KEY_DIAMETER,
	KEY_STRENGTH,
	KEY_RATE,
	KEY_ZERO,
	KEY_NOISE,
	KEY_RIPPLE,
	KEY_RIPPLE_HZ,
	KEY_HUNTING,
	KEY_HUNTING_HZ,
	KEY_HZ,
	KEY_SPEED,
	KEY_PAUSE,
	KEY_RESOLUTION,
	KEY_DECIMALS,
	KEY_UNIT,
	KEY_DIALECT,
	KEY_SLAVES,
	KEY_FAULT,
	KEY_START_ON,
	KEY_WAIT,
	KEY_SEED,
	KEY_LIST,
};

/* clang-format off */
static const struct argp_option option_table[] = {
	{NULL, 0, NULL, 0, "What the press does", 1},
	{"curve", 'c', "NAME", 0,
		"Play this curve; again, or as a list with commas, for several in a row. Without "
		"a curve the press stands idle until it is stopped", 0},
	{"file", KEY_FILE, "CURVE.csv", 0,
		"Play a recorded curve: columns time_s and load_n, load_kn or load_lbf; each "
		"sample at its own time unless --hz is given", 0},
	{"list-curves", KEY_LIST, NULL, 0, "Print the names of the curves and end", 0},
	{"diameter-mm", KEY_DIAMETER, "D", 0, "Diameter of the cylinder (100)", 0},
	{"strength-mpa", KEY_STRENGTH, "F", 0, "Its strength (30)", 0},
	{"rate-mpa-s", KEY_RATE, "R", 0, "Nominal stress rate (0.25)", 0},
	{"zero-n", KEY_ZERO, "N", 0, "What the unloaded press reads (0)", 0},
	{"noise-n", KEY_NOISE, "N", 0, "Noise, standard deviation (15)", 0},
	{"ripple-n", KEY_RIPPLE, "N", 0, "Amplitude of the pump's ripple (0)", 0},
	{"ripple-hz", KEY_RIPPLE_HZ, "F", 0, "Its frequency (16)", 0},
	{"hunting-n", KEY_HUNTING, "N", 0, "Amplitude of the regulator's hunting (0)", 0},
	{"hunting-hz", KEY_HUNTING_HZ, "F", 0, "Its frequency (1.2)", 0},
	{"speed", KEY_SPEED, "X", 0,
		"Let the curves' time pass X times faster. Lines are stamped on arrival, so the "
		"stress rate really is X times higher (1)", 0},
	{"pause-s", KEY_PAUSE, "S", 0,
		"Unloaded time before each curve and after the last (2)", 0},
	{NULL, 0, NULL, 0, "The instruments", 2},
	{"link", 'l', "PATH", 0,
		"Publish the instrument's device under this symlink; again for a press of "
		"several cells, which then share the load equally", 0},
	{"shares", KEY_SHARES, "P,P...", 0,
		"What each cell carries, in percent (equal): a load that acts off the centre", 0},
	{"hz", KEY_HZ, "F", 0, "Lines per second (50)", 0},
	{"dialect", KEY_DIALECT, "NAME", 0, "How a line is written (plain)", 0},
	{"slaves", KEY_SLAVES, "N", 0,
		"modbus-rtu: N instruments behind each link, at the addresses 1 to N, which share "
		"the load equally (1)", 0},
	{"unit", KEY_UNIT, "UNIT", 0, "N, kN, MN, kgf, tf, lbf or kip (kN)", 0},
	{"decimals", KEY_DECIMALS, "N", 0, "Decimals of the line, 0 to 9 (2)", 0},
	{"resolution-n", KEY_RESOLUTION, "N", 0,
		"Loads are multiples of this (the last decimal)", 0},
	{NULL, 0, NULL, 0, "What goes wrong", 3},
	{"fault", KEY_FAULT, "KIND[=P][,...]", 0,
		"Let something go wrong, in every cell; again for several. See below", 0},
	{"seed", KEY_SEED, "N", 0, "Of all random numbers (1)", 0},
	{NULL, 0, NULL, 0, "When", 4},
	{"start-on", KEY_START_ON, "WORD", 0,
		"Take commands, one a line, from standard input, and begin each curve at the "
		"word given. `hold KN` holds a load while no curve is played. Each kind of fault "
		"is a command too: it befalls the next line, or lasts until `mend`. Ends when the "
		"input does", 0},
	{"wait-for-reader", KEY_WAIT, NULL, 0, "Begin only when every link has been opened", 0},
	{0},
};
/* clang-format on */

struct number {
	int key;
	size_t offset;
	double least, most;
};

/* clang-format off */
#define NUMBER(key, member, least, most) { key, offsetof(struct options, member), least, most }
/* clang-format on */
static const struct number numbers[] = {
	NUMBER(KEY_STRENGTH, player.specimen.strength_pa, 0.1, 1000),
	NUMBER(KEY_RATE, player.specimen.rate_pa_per_s, 0.001, 1000),
	NUMBER(KEY_DIAMETER, player.specimen.area_m2, 1, 1000),
	NUMBER(KEY_ZERO, player.zero_newton, -1e7, 1e7),
	NUMBER(KEY_NOISE, player.noise_newton, 0, 1e6),
	NUMBER(KEY_RIPPLE, player.ripple_newton, 0, 1e6),
	NUMBER(KEY_RIPPLE_HZ, player.ripple_hz, 0, 1000),
	NUMBER(KEY_HUNTING, player.hunting_newton, 0, 1e6),
	NUMBER(KEY_HUNTING_HZ, player.hunting_hz, 0, 1000),
	NUMBER(KEY_SPEED, player.speed, 0.01, 1000),
	NUMBER(KEY_PAUSE, player.pause_s, 0, 3600),
	NUMBER(KEY_HZ, player.line_hz, 0.1, 20000),
	NUMBER(KEY_RESOLUTION, line.resolution_newton, 0, 1e6),
};

static double parse_number(struct argp_state *state, const char *text, double least, double most)
{
	struct decimal decimal;
	double value = NAN;
	if (decimal_parse(text, strlen(text), &decimal))
		value = decimal_double(decimal);
	if (!(value >= least && value <= most))
		argp_error(state, "'%s' is no number from %g to %g", text, least, most);
	return value;
}

static struct player_piece *add_piece(struct argp_state *state, struct options *options)
{
	if (options->player.piece_count == OPTIONS_PIECES_MAX)
		argp_error(state, "more than %d curves", OPTIONS_PIECES_MAX);
	return &options->pieces[options->player.piece_count++];
}

static void add_curves(struct argp_state *state, struct options *options, char *list)
{
	char *rest = NULL;
	for (char *name = strtok_r(list, ",", &rest); name != NULL;
		name = strtok_r(NULL, ",", &rest)) {
		const struct curves_entry *curve = curves_find(name);
		if (curve == NULL)
			argp_error(state, "no curve '%s'; --list-curves names them", name);
		else
			*add_piece(state, options) =
				(struct player_piece){.named = curve, .name = curve->name};
	}
}

/* The whole file, in memory of the caller's; NULL with errno set. */
static char *read_file(const char *path, size_t *length)
{
	char *text = NULL;
	size_t size = 0;
	FILE *file = fopen(path, "re");
	if (file == NULL)
		return NULL;
	ssize_t got = getdelim(&text, &size, '\0', file);
	*length = got < 0 ? 0 : (size_t)got;
	if (ferror(file)) {
		free(text);
		text = NULL;
	}
	fclose(file);
	return text;
}

static void add_file(struct argp_state *state, struct options *options, const char *path)
{
	struct message why;
	struct player_piece piece = {.name = path};
	size_t length = 0;
	char *text = read_file(path, &length);
	if (text == NULL)
		argp_failure(state, 2, errno, "cannot read %s", path);
	bool done = curve_parse(path, text, length, &piece.recorded, &why);
	free(text);
	if (!done)
		argp_failure(state, 2, 0, "%s", why.text);
	*add_piece(state, options) = piece;
}

static void add_fault(struct argp_state *state, struct options *options, const char *text)
{
	struct faults_plan *plan = &options->faults;
	struct message why;
	if (plan->count == FAULTS_RULES_MAX)
		argp_error(state, "more than %d faults", FAULTS_RULES_MAX);
	else if (!faults_parse(text, &plan->rules[plan->count++], &why))
		argp_error(state, "--fault %s", why.text);
}

static void set_unit(struct argp_state *state, struct options *options, const char *text)
{
	if (!units_parse(text, strlen(text), &options->line.unit) ||
		units_kind(options->line.unit) != UNITS_FORCE)
		argp_error(state, "'%s' is no unit of force known here", text);
}

static void set_dialect(struct argp_state *state, struct options *options, const char *name)
{
	char buffer[160];
	struct text list;
	options->dialect = dialect_find(name);
	if (options->dialect != NULL)
		return;
	text_init(&list, buffer, sizeof buffer);
	for (const struct dialect *known = dialect_table(); known->name != NULL; known++)
		text_format(&list, "\n  %-8s %s", known->name, known->summary);
	argp_error(state, "no dialect '%s'; there are:%s", name, buffer);
}

static void list_curves(void)
{
	for (const struct curves_entry *entry = curves_table(); entry->name != NULL; entry++)
		printf("%-10s %s\n", entry->name, entry->summary);
	exit(0);
}

/* In percent, with commas between. */
static void set_shares(struct argp_state *state, struct options *options, char *list)
{
	char *rest = NULL;
	options->share_count = 0;
	for (char *share = strtok_r(list, ",", &rest); share != NULL;
		share = strtok_r(NULL, ",", &rest)) {
		if (options->share_count == OPTIONS_LINKS_MAX)
			argp_error(state, "more than %d shares", OPTIONS_LINKS_MAX);
		options->shares[options->share_count++] = parse_number(state, share, 0, 100) / 100;
	}
}

static void settle_shares(struct argp_state *state, struct options *options)
{
	double sum = 0;
	for (size_t i = 0; i < options->link_count; i++) {
		if (options->share_count == 0)
			options->shares[i] = 1 / (double)options->link_count;
		sum += options->shares[i];
	}
	if (options->share_count != 0 &&
		(options->share_count != options->link_count || sum < 0.999999 || sum > 1.000001))
		argp_error(state, "--shares needs one share for each link, 100 in all");
}

static error_t parse_other(int key, char *argument, struct argp_state *state)
{
	struct options *options = state->input;
	switch (key) {
	case 'c':
		add_curves(state, options, argument);
		return 0;
	case KEY_FILE:
		add_file(state, options, argument);
		return 0;
	case KEY_LIST:
		list_curves();
		return 0;
	case 'l':
		if (options->link_count == OPTIONS_LINKS_MAX)
			argp_error(state, "more than %d links", OPTIONS_LINKS_MAX);
		options->links[options->link_count++] = argument;
		return 0;
	case KEY_SHARES:
		set_shares(state, options, argument);
		return 0;
	case KEY_DIALECT:
		set_dialect(state, options, argument);
		return 0;
	case KEY_UNIT:
		set_unit(state, options, argument);
		return 0;
	case KEY_SLAVES:
		options->slave_count =
			(size_t)parse_number(state, argument, 1, DIALECT_ADDRESSES_MAX);
		return 0;
	case KEY_DECIMALS:
		options->line.decimals =
			(int)parse_number(state, argument, 0, DIALECT_DECIMALS_MAX);
		return 0;
	case KEY_FAULT:
		add_fault(state, options, argument);
		return 0;
	case KEY_SEED:
		options->seed = (uint64_t)parse_number(state, argument, 0, 9e15);
		return 0;
	case KEY_START_ON:
		options->start_word = argument;
		return 0;
	case KEY_WAIT:
		options->wait_for_reader = true;
		return 0;
	case ARGP_KEY_ARG:
		argp_error(state, "unexpected argument '%s'", argument);
		return 0;
	case ARGP_KEY_END:
		if (options->link_count == 0)
			argp_error(state, "--link is missing: where shall the device appear?");
		settle_shares(state, options);
		return 0;
	default:
		return ARGP_ERR_UNKNOWN;
	}
}

static error_t parse_option(int key, char *argument, struct argp_state *state)
{
	struct options *options = state->input;
	for (size_t i = 0; i < sizeof numbers / sizeof *numbers; i++) {
		if (numbers[i].key != key)
			continue;
		double *member = (double *)((char *)options + numbers[i].offset);
		*member = parse_number(state, argument, numbers[i].least, numbers[i].most);
		options->player.recorded_times &= key != KEY_HZ;
		return 0;
	}
	return parse_other(key, argument, state);
}

/* The defaults, in the options' own units. */
static void set_defaults(struct options *options)
{
	*options = (struct options){
		.player =
			{
				.specimen = {.area_m2 = 100,
					.strength_pa = 30,
					.rate_pa_per_s = 0.25},
				.line_hz = 50,
				.recorded_times = true,
				.speed = 1,
				.pause_s = 2,
				.noise_newton = 15,
				.ripple_hz = 16,
				.hunting_hz = 1.2,
			},
		.dialect = dialect_find("plain"),
		.slave_count = 1,
		.line = {.unit = UNIT_KILONEWTON, .decimals = 2, .address = 1},
		.seed = 1,
	};
}

/* The table of faults explains itself. */
static char *filter_help(int key, const char *text, void *input)
{
	char *all = NULL;
	(void)input;
	if (key != ARGP_KEY_HELP_POST_DOC)
		return (char *)text;
	return asprintf(&all, "%s\n\n%s", text, faults_help()) < 0 ? NULL : all;
}

void options_parse(struct options *options, int argc, char **argv)
{
	static const struct argp argp = {
		.options = option_table,
		.parser = parse_option,
		.doc = "Simulate the load cells of a compression press behind pseudo terminals."
		       "\vPrints one line for each thing that happens. Ends after the last curve.",
		.help_filter = filter_help,
	};
	set_defaults(options);
	argp_err_exit_status = 2;
	argp_parse(&argp, argc, argv, 0, NULL, options);

	struct curves_specimen *specimen = &options->player.specimen;
	double diameter_m = specimen->area_m2 / 1000;
	specimen->area_m2 = acos(-1) / 4 * diameter_m * diameter_m;
	specimen->strength_pa *= UNITS_PASCAL_PER_MPA;
	specimen->rate_pa_per_s *= UNITS_PASCAL_PER_MPA;
	options->player.pieces = options->pieces;
	options->player.start_on_command = options->start_word != NULL;
}

void options_finish(struct options *options)
{
	for (size_t i = 0; i < options->player.piece_count; i++)
		if (options->pieces[i].named == NULL)
			curve_finish(&options->pieces[i].recorded);
}
