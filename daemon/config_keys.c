/* SPDX-License-Identifier: MIT
 *
 * The one table of configuration keys. A new key is one row here and one member in config.h.
 */
#include "config_keys.h"
#include "config_cell.h"
#include "config_press.h"

#include "store/method_folder.h"

#include <assert.h>
#include <ctype.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

/* A decimal number and the unit after it, if any. */
bool config_split_quantity(const char *text, struct decimal *number, const char **unit)
{
	size_t length = strspn(text, "+-.0123456789");

	if (!decimal_parse(text, length, number))
		return false;
	*unit = text + length + strspn(text + length, " \t");
	return true;
}

bool config_in_range(
	const struct config_key *key, const char *text, double value, struct message *why)
{
	if (value >= key->low && value <= key->high)
		return true;
	return message_set(why, "%s = %s: %.10g to %.10g%s%s is meant", key->name, text, key->low,
		key->high, key->unit[0] ? " " : "", key->unit);
}

static bool read_path(
	const struct config_key *key, const char *text, void *target, struct message *why)
{
	if (!text_is_printable(text))
		return message_set(why, "%s is not printable UTF-8", key->name);
	if (text[0] != '/')
		return message_set(why, "%s = %s: an absolute path is meant", key->name, text);
	if (strlen(text) > (size_t)key->high)
		return message_set(why, "%s is longer than %g bytes", key->name, key->high);
	strcpy(target, text);
	return true;
}

static void write_text(const void *target, struct text *text)
{
	text_put(text, target);
}

static bool read_name(
	const struct config_key *key, const char *text, void *target, struct message *why)
{
	if (!text[0] || strlen(text) >= CONFIG_NAME_SIZE)
		return message_set(
			why, "%s is no name of 1 to %d bytes", key->name, CONFIG_NAME_SIZE - 1);
	strcpy(target, text);
	return true;
}

static bool read_integer(
	const struct config_key *key, const char *text, void *target, struct message *why)
{
	struct decimal number;
	int64_t value = 0;

	if (!decimal_parse(text, strlen(text), &number) || number.exponent != 0 ||
		!decimal_scaled(number, 0, &value))
		return message_set(why, "%s = %s: a whole number is meant", key->name, text);
	if (!config_in_range(key, text, (double)value, why))
		return false;
	*(int *)target = (int)value;
	return true;
}

static void write_integer(const void *target, struct text *text)
{
	text_integer(text, *(const int *)target);
}

bool config_read_choice(const struct config_key *key, const char *text, const char *const *choices,
	int *chosen, struct message *why)
{
	struct text list;
	char buffer[80];

	text_init(&list, buffer, sizeof buffer);
	for (int i = 0; choices[i]; i++) {
		if (strcmp(choices[i], text) == 0) {
			*chosen = i;
			return true;
		}
		text_format(&list, "%s%s", i ? ", " : "", choices[i]);
	}
	return message_set(why, "%s = %s: one of %s is meant", key->name, text, buffer);
}

static const char *const LEVELS[] = {"error", "warning", "info", "debug", NULL};

static bool read_level(
	const struct config_key *key, const char *text, void *target, struct message *why)
{
	int chosen = 0;

	if (!config_read_choice(key, text, LEVELS, &chosen, why))
		return false;
	*(enum log_level *)target = (enum log_level)chosen;
	return true;
}

static void write_level(const void *target, struct text *text)
{
	text_put(text, LEVELS[*(const enum log_level *)target]);
}

static const char *const FLOWS[] = {"none", "rtscts", "xonxoff", NULL};

static bool read_flow(
	const struct config_key *key, const char *text, void *target, struct message *why)
{
	int chosen = 0;

	if (!config_read_choice(key, text, FLOWS, &chosen, why))
		return false;
	*(enum port_flow *)target = (enum port_flow)chosen;
	return true;
}

static void write_flow(const void *target, struct text *text)
{
	text_put(text, FLOWS[*(const enum port_flow *)target]);
}

static bool read_format(
	const struct config_key *key, const char *text, void *target, struct message *why)
{
	struct port_settings *port = target;

	if (strlen(text) != 3 || !strchr("78", text[0]) || !strchr("NEO", text[1]) ||
		!strchr("12", text[2]))
		return message_set(why,
			"%s = %s: data bits 7 or 8, parity N, E or O, stop bits 1 or 2 are meant, "
			"as in 8N1",
			key->name, text);
	port->data_bits = text[0] - '0';
	port->parity = text[1];
	port->stop_bits = text[2] - '0';
	return true;
}

static void write_format(const void *target, struct text *text)
{
	const struct port_settings *port = target;

	text_format(text, "%d%c%d", port->data_bits, port->parity, port->stop_bits);
}

static bool read_decoder(
	const struct config_key *key, const char *text, void *target, struct message *why)
{
	const struct decoder *decoder = decoder_find(text);
	struct text list;
	char buffer[160];

	if (decoder) {
		*(const struct decoder **)target = decoder;
		return true;
	}
	text_init(&list, buffer, sizeof buffer);
	for (const struct decoder *known = decoder_table(); known->name; known++)
		text_format(&list, "%s%s", list.length ? ", " : "", known->name);
	return message_set(why, "%s = %s: one of %s is meant", key->name, text, buffer);
}

static void write_decoder(const void *target, struct text *text)
{
	text_put(text, (*(const struct decoder *const *)target)->name);
}

static bool read_method(
	const struct config_key *key, const char *text, void *target, struct message *why)
{
	const struct method *method = method_find(text);

	if (!method)
		return message_set(why,
			"%s = %s: there is no such method; `ramplog methods` lists those there are",
			key->name, text);
	*(const struct method **)target = method;
	return true;
}

static void write_method(const void *target, struct text *text)
{
	text_put(text, (*(const struct method *const *)target)->name);
}

static bool read_unit(
	const struct config_key *key, const char *text, void *target, struct message *why)
{
	enum unit unit = UNIT_NONE;

	if (!units_parse(text, strlen(text), &unit))
		return message_set(why,
			"%s = %s: N, kN, MN, kgf, tf, lbf, kip, Pa, kPa, MPa, bar, psi, counts or "
			"mV/V is meant",
			key->name, text);
	*(enum unit *)target = unit;
	return true;
}

static void write_unit(const void *target, struct text *text)
{
	text_put(text, units_text(*(const enum unit *)target));
}

static bool read_factor(
	const struct config_key *key, const char *text, void *target, struct message *why)
{
	struct decimal factor;

	if (!decimal_parse(text, strlen(text), &factor))
		return message_set(why, "%s = %s: a decimal number is meant", key->name, text);
	if (!config_in_range(key, text, fabs(decimal_double(factor)), NULL))
		return message_set(why,
			"%s = %s: %.10g to %.10g is meant, with a minus where loads come as "
			"negative numbers",
			key->name, text, key->low, key->high);
	*(struct decimal *)target = factor;
	return true;
}

static void write_factor(const void *target, struct text *text)
{
	text_format(text, "%.15g", decimal_double(*(const struct decimal *)target));
}

static bool read_duration(
	const struct config_key *key, const char *text, void *target, struct message *why)
{
	struct decimal number;
	const char *unit = "";
	int64_t value_ns = 0;

	bool ok = config_split_quantity(text, &number, &unit) &&
		  ((strcmp(unit, "s") == 0 && decimal_scaled(number, 9, &value_ns)) ||
			  (strcmp(unit, "ms") == 0 && decimal_scaled(number, 6, &value_ns)));
	if (!ok)
		return message_set(
			why, "%s = %s: a time is meant, as in 1 s or 500 ms", key->name, text);
	if (!config_in_range(key, text, (double)value_ns / (double)CLOCKS_NS_PER_S, why))
		return false;
	*(int64_t *)target = value_ns;
	return true;
}

static void write_duration(const void *target, struct text *text)
{
	text_format(text, "%.10g s", (double)*(const int64_t *)target / (double)CLOCKS_NS_PER_S);
}

/* What is too large for the program is larger than UNITS_LOAD_UN_MAX. */
static bool parse_force(const char *text, int64_t *load_un)
{
	struct decimal number;
	const char *name = "";
	enum unit unit = UNIT_NONE;

	if (!config_split_quantity(text, &number, &name) ||
		!units_parse(name, strlen(name), &unit) || units_kind(unit) != UNITS_FORCE)
		return false;
	if (!units_load_un(unit, number, load_un))
		*load_un = 2 * UNITS_LOAD_UN_MAX;
	return true;
}

static bool read_force(
	const struct config_key *key, const char *text, void *target, struct message *why)
{
	int64_t load_un = 0;

	if (!parse_force(text, &load_un))
		return message_set(why, "%s = %s: a force with its unit is meant, as in 2000 kN",
			key->name, text);
	if (!config_in_range(key, text, (double)load_un / (double)UNITS_UN_PER_N, why))
		return false;
	*(int64_t *)target = load_un;
	return true;
}

static void write_force(const void *target, struct text *text)
{
	double newton = (double)*(const int64_t *)target / (double)UNITS_UN_PER_N;

	text_format(text, "%.12g kN", newton / 1000);
}

static bool read_contact(
	const struct config_key *key, const char *text, void *target, struct message *why)
{
	struct config_contact *contact = target;
	struct decimal number;
	const char *unit = "";

	*contact = (struct config_contact){.load_un = 0};
	if (config_split_quantity(text, &number, &unit) && strcmp(unit, "%") == 0) {
		contact->share = decimal_double(number) / 100;
		return config_in_range(key, text, decimal_double(number), why);
	}
	if (parse_force(text, &contact->load_un) && contact->load_un > 0 &&
		contact->load_un <= UNITS_LOAD_UN_MAX)
		return true;
	return message_set(why,
		"%s = %s: a force (as in 2 kN) or a share of the capacity (as in 0.1 %%) is meant",
		key->name, text);
}

static void write_contact(const void *target, struct text *text)
{
	const struct config_contact *contact = target;

	if (contact->load_un)
		write_force(&contact->load_un, text);
	else
		text_format(text, "%.10g %%", 100 * contact->share);
}

static const struct config_type TYPE_PATH = {"path", read_path, write_text};
static const struct config_type TYPE_NAME = {"name", read_name, write_text};
static const struct config_type TYPE_INTEGER = {"whole number", read_integer, write_integer};
static const struct config_type TYPE_LEVEL = {"choice", read_level, write_level};
static const struct config_type TYPE_FLOW = {"choice", read_flow, write_flow};
static const struct config_type TYPE_FORMAT = {"line format", read_format, write_format};
static const struct config_type TYPE_DECODER = {"choice", read_decoder, write_decoder};
static const struct config_type TYPE_METHOD = {"choice", read_method, write_method};
static const struct config_type TYPE_UNIT = {"unit", read_unit, write_unit};
static const struct config_type TYPE_FACTOR = {"number", read_factor, write_factor};
static const struct config_type TYPE_DURATION = {"time", read_duration, write_duration};
static const struct config_type TYPE_FORCE = {"force", read_force, write_force};
static const struct config_type TYPE_CONTACT = {"force or share", read_contact, write_contact};

#define OF_CONFIG(member) offsetof(struct config, member), NULL
#define OF_PRESS(member) offsetof(struct config_press, member), NULL
#define OF_CELL(member) offsetof(struct config_cell, member), NULL
#define OF_CELL_ONLY(member, protocol) offsetof(struct config_cell, member), protocol

/* A socket's path has room for 107 bytes (unix(7)). */
const struct config_key config_keys[] = {
	{CONFIG_RAMPLOGD, "database", &TYPE_PATH, 1, CONFIG_PATH_SIZE - 8,
		"/var/lib/ramplog/ramplog.db", "bytes",
		"the file that keeps every run; made if there is none", OF_CONFIG(database)},
	{CONFIG_RAMPLOGD, "socket", &TYPE_PATH, 1, 107, "/run/ramplog/control.sock", "bytes",
		"the control socket that `ramplog` talks to", OF_CONFIG(socket)},
	{CONFIG_RAMPLOGD, "methods", &TYPE_PATH, 1, CONFIG_PATH_SIZE - 1, METHOD_FOLDER_DEFAULT,
		"bytes",
		"the folder of the laboratory's own test methods, one file `NAME.ini` each; one"
		" that is not there is empty",
		OF_CONFIG(methods)},
	{CONFIG_RAMPLOGD, "log_level", &TYPE_LEVEL, 0, 0, "info", "",
		"`error`, `warning`, `info` or `debug`; lines below it are left out",
		OF_CONFIG(log_level)},
	{CONFIG_PRESS, "capacity", &TYPE_FORCE, 1e3, 1e8, NULL, "N",
		"the press's largest load; above it a sample is marked over range",
		OF_PRESS(capacity_un)},
	{CONFIG_PRESS, "method", &TYPE_METHOD, 0, 0, "astm-c39", "",
		"the test method where the specimen names none", OF_PRESS(method)},
	{CONFIG_PRESS, "contact", &TYPE_CONTACT, 0.001, 10, "0.1 %", "%",
		"the load that counts as contact with a specimen: a force or a share of the"
		" capacity",
		OF_PRESS(contact)},
	{CONFIG_PRESS, "zero_limit", &TYPE_CONTACT, 0.001, 10, "0.02 %", "%",
		"the unloaded press reads no more than this: a fifth of what counts as contact, so"
		" that a zero is noticed before it is taken for a load",
		OF_PRESS(zero_limit)},
	{CONFIG_PRESS, "drift_limit", &TYPE_CONTACT, 0.001, 10, "0.01 %", "%",
		"the zero moves by no more than this from one run to the next: half of the limit"
		" above, since a drift goes on",
		OF_PRESS(drift_limit)},
	{CONFIG_PRESS, "eccentricity", &config_type_length, 0.1, 500, "5 mm", "mm",
		"the load acts no farther than this from the centre, where three or more cells"
		" have a `position`; a twentieth of a 100 mm cylinder",
		OF_PRESS(eccentricity_um)},
	{CONFIG_PRESS, "block", &config_type_block, 20, 2000, "none", "mm",
		"face of the smaller bearing block: its diameter (`165 mm`), or its side (`square"
		" 200 mm`); specimens are compared with it",
		OF_PRESS(block)},
	{CONFIG_CELL, "press", &TYPE_NAME, 0, 0, NULL, "",
		"the press whose load this cell carries, or a part of it", OF_CELL(press_name)},
	{CONFIG_CELL, "device", &TYPE_PATH, 1, PORT_PATH_SIZE - 1, NULL, "bytes",
		"the serial port; a name under /dev/serial/by-id or by-path stays the same when"
		" adapters change places",
		OF_CELL(port.device)},
	{CONFIG_CELL, "baud", &TYPE_INTEGER, 300, 4000000, "9600", "baud", "the line's speed",
		OF_CELL(port.baud)},
	{CONFIG_CELL, "format", &TYPE_FORMAT, 0, 0, "8N1", "", "data bits, parity and stop bits",
		OF_CELL(port)},
	{CONFIG_CELL, "flow", &TYPE_FLOW, 0, 0, "none", "",
		"`none`, `rtscts` or `xonxoff`; a three-wire cable needs `none`",
		OF_CELL(port.flow)},
	{CONFIG_CELL, "decoder", &TYPE_DECODER, 0, 0, "plain", "",
		"the protocol that the indicator speaks", OF_CELL(decoder)},
	{CONFIG_CELL, "pattern", &config_type_pattern, 0, 0, "{load OL=over} {unit?}", "",
		"plain: the form of a line, see below", OF_CELL_ONLY(setup.pattern, "plain")},
	{CONFIG_CELL, "example", &config_type_bytes, 1, CONFIG_EXAMPLE_SIZE - 1, "", "characters",
		"bytes as the indicator sends them, `\\n`, `\\r` and `\\x1f` for what cannot be"
		" typed, in quotes where blanks lead; `--check` shows what they decode to",
		OF_CELL(example)},
	{CONFIG_CELL, "request", &config_type_request, 0, 0, "", "",
		"`none`: the indicator sends by itself; `each`: every reading is asked for;"
		" `repeated`: it is asked once and goes on by itself. Default: `each` where the"
		" protocol has a request, else `none`",
		OF_CELL_ONLY(request, CONFIG_ASKED)},
	{CONFIG_CELL, "reply_within", &TYPE_DURATION, 0.01, 10, "200 ms", "s",
		"without a reply for this long, the time on the wire not counted, the next"
		" request goes out",
		OF_CELL_ONLY(reply_within_ns, CONFIG_ASKED)},
	{CONFIG_CELL, "interval", &TYPE_DURATION, 0, 10, "0 s", "s",
		"shortest time between two requests; the indicator's own, so that no value is"
		" read twice; 0: as fast as the line allows",
		OF_CELL_ONLY(interval_ns, CONFIG_ASKED)},
	{CONFIG_CELL, "address", &TYPE_INTEGER, 1, 247, "1", "",
		"modbus-rtu: the instrument's address on the line",
		OF_CELL_ONLY(setup.modbus.address, "modbus-rtu")},
	{CONFIG_CELL, "registers", &config_type_registers, 0, 0, "holding", "",
		"modbus-rtu: `holding` (function 03) or `input` (function 04)",
		OF_CELL_ONLY(setup.modbus.function, "modbus-rtu")},
	{CONFIG_CELL, "register", &TYPE_INTEGER, 0, 65535, "0", "",
		"modbus-rtu: the first register of the value as it stands on the wire, counted"
		" from 0; where a manual says 40001 or 30001, 0 is meant",
		OF_CELL_ONLY(setup.modbus.first, "modbus-rtu")},
	{CONFIG_CELL, "type", &config_type_register_type, 0, 0, "int32", "",
		"modbus-rtu: `int16`, `uint16`, `int32`, `uint32` or `float32`",
		OF_CELL_ONLY(setup.modbus.type, "modbus-rtu")},
	{CONFIG_CELL, "word_order", &config_type_word_order, 0, 0, "abcd", "",
		"modbus-rtu: how the bytes of a value come, a being the most significant one:"
		" `abcd`, `cdab`, `badc` or `dcba`",
		OF_CELL_ONLY(setup.modbus.order, "modbus-rtu")},
	{CONFIG_CELL, "unit", &TYPE_UNIT, 0, 0, "kN", "",
		"the unit on the wire, or meant where none is sent; a line with another one is"
		" refused. A pressure needs `area`, counts and mV/V need `factor`",
		OF_CELL(scale.unit)},
	{CONFIG_CELL, "factor", &TYPE_FACTOR, 1e-9, 1e9, "1", "",
		"what the value is multiplied by, e.g. for a lever; negative where compression "
		"reads negative; for counts and mV/V the newtons that one stands for",
		OF_CELL(factor)},
	{CONFIG_CELL, "area", &config_type_area, 0, 0, "", "",
		"the area of the ram where the indicator shows a pressure: mm2, cm2, m2 or in2",
		OF_CELL(area_m2)},
	{CONFIG_CELL, "position", &config_type_place, -10000, 10000, "none", "mm",
		"where the cell's axis is, from the press's centre: to the right, and away from"
		" the front (`-100, 57.5 mm`)",
		OF_CELL(place)},
	{CONFIG_CELL, "silent_after", &TYPE_DURATION, 0.1, 60, "1 s", "s",
		"without a reading for this long the cell counts as silent",
		OF_CELL(silent_after_ns)},
};

const size_t config_key_count = sizeof config_keys / sizeof config_keys[0];

static_assert(sizeof config_keys / sizeof config_keys[0] <= CONFIG_KEYS_MAX, "key_lines is short");

bool config_key_applies(const struct config_key *key, const struct decoder *decoder)
{
	if (!key->only)
		return true;
	return strcmp(key->only, CONFIG_ASKED) == 0 ? decoder->ask != NULL
						    : strcmp(key->only, decoder->name) == 0;
}

const char *config_scope_text(enum config_scope scope)
{
	static const char *const TEXTS[] = {"ramplogd", "press", "cell"};

	return TEXTS[scope];
}
