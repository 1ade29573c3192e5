/* SPDX-License-Identifier: MIT
 *
 * The configuration: what is right is understood, what is wrong is named with its line, all of it.
 */
#include "config.h"
#include "unit/check.h"

#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static const char GOOD[] = "[press north]\n"
			   "capacity = 2000 kN\n"
			   "[cell load]\n"
			   "press = north\n"
			   "device = /dev/ttyS0\n";

struct complaints {
	char path[64];
	char text[4096]; /* one per line, the path as FILE */
};

static void take_complaint(void *context, const char *text)
{
	struct complaints *complaints = context;
	size_t length = strlen(complaints->text);
	size_t path_length = strlen(complaints->path);

	assert_int_equal(strncmp(text, complaints->path, path_length), 0);
	snprintf(complaints->text + length, sizeof complaints->text - length, "FILE%s\n",
		text + path_length);
}

static struct config *load(const char *text, size_t length, struct complaints *complaints)
{
	*complaints = (struct complaints){.path = "/tmp/ramplog-config-XXXXXX"};
	int descriptor = mkstemp(complaints->path);

	assert_true(descriptor >= 0);
	assert_int_equal(write(descriptor, text, length), (ssize_t)length);
	close(descriptor);
	struct config *config = config_load(complaints->path, take_complaint, complaints, NULL);
	unlink(complaints->path);
	return config;
}

static void test_defaults(void **state)
{
	struct complaints complaints;
	struct config *config = load(GOOD, strlen(GOOD), &complaints);

	(void)state;
	assert_string_equal(complaints.text, "");
	assert_non_null(config);
	assert_string_equal(config->database, "/var/lib/ramplog/ramplog.db");
	assert_string_equal(config->socket, "/run/ramplog/control.sock");
	assert_int_equal(config->press_count, 1);
	const struct config_press *press = &config->presses[0];
	assert_string_equal(press->section.name, "north");
	assert_string_equal(press->method->name, "astm-c39");
	assert_int_equal(press->capacity_un, INT64_C(2000000) * UNITS_UN_PER_N);
	assert_int_equal(press->contact_un, INT64_C(2000) * UNITS_UN_PER_N);
	assert_int_equal(press->cell_count, 1);
	const struct config_cell *cell = &config->cells[press->cells[0]];
	assert_string_equal(cell->port.device, "/dev/ttyS0");
	assert_int_equal(cell->port.baud, 9600);
	assert_int_equal(cell->port.data_bits, 8);
	assert_int_equal(cell->port.parity, 'N');
	assert_int_equal(cell->port.stop_bits, 1);
	assert_int_equal(cell->port.flow, PORT_FLOW_NONE);
	assert_string_equal(cell->decoder->name, "plain");
	assert_int_equal(cell->scale.unit, UNIT_KILONEWTON);
	assert_int_equal(cell->scale.factor.mantissa, 1);
	assert_int_equal(cell->silent_after_ns, CLOCKS_NS_PER_S);
	config_destroy(config);
}

static void test_everything(void **state)
{
	static const char TEXT[] = "\xEF\xBB\xBF# with a byte-order mark and CR LF\r\n"
				   "[ramplogd]\r\n"
				   "database = /data/a b.db ; a remark\r\n"
				   "log_level = debug\r\n"
				   "\r\n"
				   "[cell east]\r\n"
				   "press=south\r\n"
				   "device=/dev/serial/by-path/pci-0000:00:14.0-usb\r\n"
				   "baud=19200\r\n"
				   "format=7E2\r\n"
				   "flow=xonxoff\r\n"
				   "unit=lbf\r\n"
				   "factor=-0.5\r\n"
				   "silent_after=2500 ms\r\n"
				   "[press south]\r\n"
				   "capacity=450000 lbf\r\n"
				   "method=en-12390-3\r\n"
				   "contact=5 kN\r\n"
				   "[cell west]\r\n"
				   "press=south\r\n"
				   "device=/dev/ttyS1";
	struct complaints complaints;
	struct config *config = load(TEXT, strlen(TEXT), &complaints);

	(void)state;
	assert_string_equal(complaints.text, "");
	assert_non_null(config);
	assert_string_equal(config->database, "/data/a b.db");
	assert_int_equal(config->log_level, LOG_DEBUG);
	const struct config_press *press = &config->presses[0];
	assert_int_equal(press->cell_count, 2);
	assert_int_equal(press->contact_un, INT64_C(5000) * UNITS_UN_PER_N);
	const struct config_cell *cell = &config->cells[press->cells[0]];
	assert_string_equal(cell->port.device, "/dev/serial/by-path/pci-0000:00:14.0-usb");
	assert_int_equal(cell->port.data_bits, 7);
	assert_int_equal(cell->port.parity, 'E');
	assert_int_equal(cell->port.stop_bits, 2);
	assert_int_equal(cell->port.flow, PORT_FLOW_XONXOFF);
	check_near(decimal_double(cell->scale.factor), -0.5, 0);
	assert_int_equal(cell->silent_after_ns, INT64_C(2500) * CLOCKS_NS_PER_MS);
	config_destroy(config);
}

#define PRESS "[press north]\ncapacity = 2000 kN\n"
#define CELL "[cell load]\npress = north\ndevice = /dev/ttyS0\n"
#define LONG_50 "12345678901234567890123456789012345678901234567890"

static const struct {
	const char *text;
	const char *complaints;
} BAD[] = {
	{"", "FILE: no [press NAME]: add one, and a [cell NAME] with the port to listen to\n"},
	{PRESS CELL "color = red\n",
		"FILE:6: unknown key color in [cell]: ramplogd --keys lists the known ones\n"},
	{PRESS CELL "baud = 9600\nbaud = 9600\n",
		"FILE:7: baud was given on line 6 already: keep one of the two\n"},
	{"baud = 1\n" PRESS CELL, "FILE:1: baud stands before the first [section]\n"},
	{PRESS CELL "what is this\n", "FILE:6: neither [section] nor key = value\n"},
	{PRESS CELL "what is this", "FILE:6: neither [section] nor key = value\n"},
	{PRESS CELL "  baud = 9600\n", "FILE:6: the line begins with a blank: remove it\n"},
	{PRESS CELL "# fine\n[frame x]\nbaud = 1\n", "FILE:7: unknown section [frame]: [ramplogd], "
						     "[press NAME] or [cell NAME] is meant\n"},
	{PRESS CELL "[press north]\ncapacity = 1 kN\n",
		"FILE:6: section [press north] was begun on line 1 already: put its keys there\n"},
	{PRESS CELL "[cell]\n",
		"FILE:6: [cell ]: [ramplogd] has no name; a press or a cell has one of 1 to 47"
		" letters, digits, dots, dashes\n"},
	{PRESS CELL "[ramplogd\n", "FILE:6: a section is one [word] or [word NAME] alone\n"},
	{PRESS CELL "[ramplogd] x = 1\n", "FILE:6: a section is one [word] or [word NAME] alone\n"},
	{PRESS CELL "device = " LONG_50 LONG_50 LONG_50 LONG_50 "\n",
		"FILE:6: the line is longer than 190 bytes: shorten it\n"},
	{PRESS "[cell load]\npress = north\n", "FILE:3: [cell load] needs a line device = ...\n"},
	{PRESS CELL "[press south]\n",
		"FILE:6: [press south] needs a line capacity = ...\n"
		"FILE:6: press south has no cell: add a [cell NAME] with press = south\n"},
	{PRESS CELL "[cell b]\npress = west\ndevice = /dev/ttyS1\n",
		"FILE:7: there is no [press west]: add it, or correct the name\n"},
	{PRESS CELL "[cell b]\npress = north\ndevice = /dev/ttyS0\n",
		"FILE:8: /dev/ttyS0 is the device of cell load already: each needs a port of its "
		"own\n"},
	{PRESS CELL "position = 100, 0 mm\n",
		"FILE:1: press north: from the positions of its cells no point of thrust can be"
		" told: three or more are needed, not in one line\n"},
	{PRESS CELL "position = 100, 0 mm\n[cell b]\npress = north\ndevice = /dev/ttyS1\n",
		"FILE:1: press north: some of its cells have a position and some have none: give "
		"all of them one, or none\n"},
	{PRESS "eccentricity = 5\nblock = round 165 mm\nzero_limit = some\n" CELL
	       "position = 100 mm\n",
		"FILE:3: eccentricity = 5: a length is meant, as in 5 mm\n"
		"FILE:4: block = round 165 mm: a length is meant, as in 5 mm\n"
		"FILE:5: zero_limit = some: a force (as in 2 kN) or a share of the capacity (as in"
		" 0.1 %) is meant\n"
		"FILE:9: position = 100 mm: a place is meant, as in -100, 57.5 mm\n"},
	{PRESS "contact = 1500 kN\n" CELL,
		"FILE:3: contact is more than half of the capacity: give the load from which the "
		"specimen bears, as in contact = 0.1 %\n"},
	{"[ramplogd]\ndatabase = /tmp/\xff\n" PRESS CELL,
		"FILE:2: database is not printable UTF-8\n"},
	/* every wrong value of a file, in order */
	{"[ramplogd]\ndatabase = ramplog.db\nlog_level = loud\n"
	 "[press north]\ncapacity = 2000\nmethod = astm-c1\ncontact = 20 %\n"
	 "[cell load]\npress = north\ndevice = ttyS0\nbaud = 9600.5\nformat = 9N1\nflow = maybe\n"
	 "decoder = morse\nunit = stone\nfactor = 0\nsilent_after = 1 h\n",
		"FILE:2: database = ramplog.db: an absolute path is meant\n"
		"FILE:3: log_level = loud: one of error, warning, info, debug is meant\n"
		"FILE:5: capacity = 2000: a force with its unit is meant, as in 2000 kN\n"
		"FILE:6: method = astm-c1: there is no such method; `ramplog methods` lists those"
		" there are\n"
		"FILE:7: contact = 20 %: 0.001 to 10 % is meant\n"
		"FILE:10: device = ttyS0: an absolute path is meant\n"
		"FILE:11: baud = 9600.5: a whole number is meant\n"
		"FILE:12: format = 9N1: data bits 7 or 8, parity N, E or O, stop bits 1 or 2 are"
		" meant, as in 8N1\n"
		"FILE:13: flow = maybe: one of none, rtscts, xonxoff is meant\n"
		"FILE:14: decoder = morse: one of plain, sma, modbus-rtu is meant\n"
		"FILE:15: unit = stone: N, kN, MN, kgf, tf, lbf, kip, Pa, kPa, MPa, bar, psi, "
		"counts or"
		" mV/V is meant\n"
		"FILE:16: factor = 0: 1e-09 to 1000000000 is meant, with a minus where loads come "
		"as negative numbers\n"
		"FILE:17: silent_after = 1 h: a time is meant, as in 1 s or 500 ms\n"},
	/* what does not go together */
	{PRESS CELL "unit = psi\n",
		"FILE:6: unit = psi: a pressure is no load; set the indicator to a force, or give"
		" the area of the ram that it acts on, as in area = 506.7 cm2\n"},
	{PRESS CELL "unit = counts\n",
		"FILE:6: unit = counts: give the newtons that one of them stands for, as in factor"
		" = 12.5\n"},
	{PRESS CELL "area = 500 cm2\n",
		"FILE:6: area is for pressures, and unit = kN is none: take it out\n"},
	{PRESS CELL "area = 500 in\n",
		"FILE:6: area = 500 in: an area above 0 in mm2, cm2, m2 or in2 is "
		"meant, as in 506.7 cm2\n"},
	/* one that was refused says nothing more of the others */
	{PRESS CELL "unit = psi\narea = 0 in2\nexample = 100 psi\n",
		"FILE:7: area = 0 in2: an area above 0 in mm2, cm2, m2 or in2 is meant, as in 506.7"
		" cm2\n"},
	{"[press north]\ncapacity = 1000000000 kN\nzero_limit = 1000000000 kN\n" CELL,
		"FILE:2: capacity = 1000000000 kN: 1000 to 100000000 N is meant\n"
		"FILE:3: zero_limit = 1000000000 kN: a force (as in 2 kN) or a share of the"
		" capacity (as in 0.1 %) is meant\n"},
	/* an example that the daemon would not use, or that no press has */
	{PRESS CELL "example = 12.5 lbf\n",
		"FILE:6: example = 12.5 lbf: the cell sends another unit than the config expects: "
		"set `unit` in the config, or the indicator's unit, so that both agree\n"},
	{PRESS CELL "factor = -10\nexample = 201 kN\n",
		"FILE:7: example = 201 kN: a load of -2010 kN, and the capacity of press north is"
		" 2000 kN: correct unit, factor or pattern\n"},
	{PRESS CELL "pattern = ST,{lode}\n",
		"FILE:6: pattern = ST,{lode}: pattern, character 4: load, unit, unit?, status, "
		"skip,"
		" sequence, time, checked, unchecked, checksum, byte or end is meant, and not"
		" \"lode\"\n"},
	{PRESS CELL "example = 12 kg\\q\n", "FILE:6: example = 12 kg\\q: a backslash is followed "
					    "by n, r, xHH or a backslash\n"},
	{PRESS CELL "example = 12 KN\n",
		"FILE:6: example = 12 KN: a number followed by something that is no unit: give "
		"what the indicator sends, or correct what it is read with\n"},
	{PRESS CELL "request = each\n",
		"FILE:6: request = each: plain has nothing to ask with: take it out\n"},
	{PRESS CELL "decoder = modbus-rtu\nrequest = none\n",
		"FILE:7: request = none: modbus-rtu instruments do not send unasked: take it "
		"out\n"},
	{PRESS CELL "decoder = modbus-rtu\nrequest = repeated\n",
		"FILE:7: request = repeated: modbus-rtu has no such request: take it out\n"},
	{PRESS CELL "decoder = modbus-rtu\n[cell b]\npress = north\ndevice = /dev/ttyS0\n"
		    "decoder = modbus-rtu\n",
		"FILE:9: /dev/ttyS0 is the line of cell load too: each needs an address of its"
		" own\n"},
	{PRESS CELL "decoder = modbus-rtu\n[cell b]\npress = north\ndevice = /dev/ttyS0\n"
		    "decoder = modbus-rtu\naddress = 2\nbaud = 19200\n",
		"FILE:9: /dev/ttyS0 is the line of cell load too: both need the same baud, format"
		" and flow\n"},
	{PRESS CELL "decoder = modbus-rtu\naddress = 248\n",
		"FILE:7: address = 248: 1 to 247 is meant\n"},
	{PRESS CELL "baud = 1\nsilent_after = 1 ms\n",
		"FILE:6: baud = 1: 300 to 4000000 baud is meant\n"
		"FILE:7: silent_after = 1 ms: 0.1 to 60 s is meant\n"},
};

static void test_errors(void **state)
{
	(void)state;
	for (size_t i = 0; i < sizeof BAD / sizeof BAD[0]; i++) {
		struct complaints complaints;

		assert_null(load(BAD[i].text, strlen(BAD[i].text), &complaints));
		assert_string_equal(complaints.text, BAD[i].complaints);
	}
}

static void test_binary(void **state)
{
	static const char TEXT[] = PRESS "x\0y\n" CELL;
	struct complaints complaints;

	(void)state;
	assert_null(load(TEXT, sizeof TEXT - 1, &complaints));
	assert_string_equal(
		complaints.text, "FILE:3: the line holds a zero byte: is this the file?\n");
}

static void test_missing_file(void **state)
{
	struct complaints complaints = {.path = "/nonexistent/c.ini"};

	(void)state;
	assert_null(config_load(complaints.path, take_complaint, &complaints, NULL));
	assert_string_equal(
		complaints.text, "FILE: No such file or directory: name a file that can be read\n");
}

static char *write_config(const struct config *config)
{
	char *text = NULL;
	size_t length = 0;
	FILE *file = open_memstream(&text, &length);

	config_write(config, file);
	fclose(file);
	return text;
}

/* Several instruments on one line; scales that make a load of a pressure and of counts. */
static void test_one_line_and_scales(void **state)
{
	static const char TEXT[] =
		PRESS "[cell a]\npress = north\ndevice = /dev/ttyS0\ndecoder = modbus-rtu\n"
		      "registers = input\nregister = 8\ntype = float32\nword_order = cdab\n"
		      "unit = bar\narea = 500 cm2\nfactor = 1.5\n"
		      "[cell b]\npress = north\ndevice = /dev/ttyS0\ndecoder = modbus-rtu\n"
		      "address = 2\nunit = counts\nfactor = 2.5\n"
		      "[cell c]\npress = north\ndevice = /dev/ttyS1\ndecoder = sma\n"
		      "request = repeated\nunit = kgf\nexample = \"\\n 1GM    441.790kg \\r\"\n";
	struct complaints complaints;
	struct config *config = load(TEXT, strlen(TEXT), &complaints);
	struct decoder_setup expected = {
		.modbus = {1, 4, 8, MODBUS_FLOAT32, MODBUS_CDAB},
	};

	(void)state;
	assert_string_equal(complaints.text, "");
	assert_non_null(config);
	const struct config_cell *cell = config->cells;
	assert_int_equal(config->line_count, 2);
	assert_int_equal(cell[0].line, 0);
	assert_int_equal(cell[1].line, 0);
	assert_int_equal(cell[2].line, 1);
	assert_memory_equal(&cell[0].setup.modbus, &expected.modbus, sizeof expected.modbus);
	assert_int_equal(cell[0].request, CONFIG_REQUEST_EACH);
	assert_true(cell[0].port.writes);
	assert_int_equal(cell[0].scale.unit, UNIT_BAR);
	check_near(decimal_double(cell[0].scale.factor), 0.075, 0);
	check_near(decimal_double(cell[1].scale.factor), 2.5, 0);
	assert_int_equal(cell[2].request, CONFIG_REQUEST_REPEATED);
	char *written = write_config(config);
	assert_non_null(strstr(written, "area = 500 cm2\n"));
	/* 441.790 kg x 9.80665 m/s2 = 4332.4799 N */
	assert_non_null(strstr(
		written, "; the example decodes to 441.790 kgf, motion: a load of 4332.4799"));
	free(written);
	config_destroy(config);
}

/* What the example is said to decode to, of a config that may be wrong. */
static void check_example(const char *keys, const char *expected)
{
	struct complaints complaints = {.path = "/tmp/ramplog-config-XXXXXX"};
	struct config *partial = NULL;
	char said[200];
	int descriptor = mkstemp(complaints.path);

	assert_true(descriptor >= 0);
	assert_true(dprintf(descriptor, PRESS CELL "%s", keys) > 0);
	close(descriptor);
	struct config *config = config_load(complaints.path, take_complaint, &complaints, &partial);
	unlink(complaints.path);
	char *written = write_config(config ? config : partial);
	snprintf(said, sizeof said, "; the example decodes to %s\n", expected);
	if (!strstr(written, said))
		fail_msg("%s", written);
	if (strstr(keys, "factor = 0"))
		assert_non_null(strstr(written, "; factor was refused\n"));
	free(written);
	config_destroy(config);
	config_destroy(partial);
}

/* No load is told where the keys do not say what makes one. */
static void test_example_is_a_load(void **state)
{
	static const char *const unknown = "1250; what load that is cannot be told";

	(void)state;
	check_example("unit = counts\nexample = 1250\n", unknown);
	check_example("unit = counts\nfactor = 0\nexample = 1250\n", unknown);
	check_example("unit = stone\nexample = 1250\n", unknown);
	check_example(
		"unit = bar\nexample = 125 bar\n", "125 bar; what load that is cannot be told");
	check_example(
		"unit = counts\nfactor = 12.5\nexample = 1250\n", "1250 counts: a load of 15625 N");
	check_example(
		"unit = mV/V\nfactor = 1000\nexample = 0.000 mV/V\n", "0.000 mV/V: a load of 0 N");
	check_example(
		"unit = bar\narea = 500 cm2\nexample = 100 bar\n", "100 bar: a load of 500000 N");
	check_example("factor = -1\nexample = -12 kN\n", "-12 kN: a load of 12000 N");
	check_example("example = -12 kN\n",
		"-12 kN: a load of -12000 N, below zero: where that came under load, factor has "
		"the wrong sign");
}

/* What --check prints is a configuration, and the same one. */
static void test_written_is_read(void **state)
{
	static const char TEXT[] = PRESS "contact = 3.5 kN\n" CELL
					 "factor = -1.25\nsilent_after = 0.5 s\nformat = 7O1\n";
	struct complaints complaints;
	struct config *config = load(TEXT, strlen(TEXT), &complaints);

	(void)state;
	assert_non_null(config);
	char *first = write_config(config);
	assert_non_null(strstr(first, "factor = -1.25\n"));
	assert_non_null(strstr(first, "baud = 9600 ; default\n"));
	config_destroy(config);
	config = load(first, strlen(first), &complaints);
	assert_string_equal(complaints.text, "");
	assert_non_null(config);
	char *second = write_config(config);
	/* All is given in it, so nothing is a default any more. */
	for (char *mark = first; (mark = strstr(mark, " ; default"));)
		memmove(mark, mark + strlen(" ; default"), strlen(mark + strlen(" ; default")) + 1);
	assert_string_equal(second, first);
	free(first);
	free(second);
	config_destroy(config);
}

/* Keys of other protocols are not shown, and not to be given. */
static void test_keys_of_the_protocol(void **state)
{
	static const char PLAIN[] = PRESS CELL, MODBUS[] = PRESS CELL "decoder = modbus-rtu\n",
			  MIXED[] = PRESS CELL "word_order = cdab\n";
	struct complaints complaints;
	struct config *config = load(PLAIN, strlen(PLAIN), &complaints);

	(void)state;
	assert_non_null(config);
	char *written = write_config(config);
	assert_non_null(strstr(written, "pattern = "));
	assert_null(strstr(written, "register"));
	assert_null(strstr(written, "reply_within"));
	free(written);
	config_destroy(config);
	config = load(MODBUS, strlen(MODBUS), &complaints);
	assert_non_null(config);
	written = write_config(config);
	assert_null(strstr(written, "pattern = "));
	assert_non_null(strstr(written, "registers = holding ; default"));
	assert_non_null(strstr(written, "\nreply_within = "));
	free(written);
	config_destroy(config);
	assert_null(load(MIXED, strlen(MIXED), &complaints));
	assert_non_null(strstr(complaints.text,
		"word_order is for decoder = modbus-rtu, and this cell's is plain"));
}

/* The manual's table is the one that the program has. */
static void test_manual(void **state)
{
	const char *path = getenv("RAMPLOG_MANUAL");
	char *table = NULL, manual[16384];
	size_t length = 0;
	FILE *file = open_memstream(&table, &length);

	(void)state;
	config_keys_write(file);
	fclose(file);
	assert_non_null(path);
	file = fopen(path, "re");
	assert_non_null(file);
	size_t manual_length = fread(manual, 1, sizeof manual - 1, file);
	manual[manual_length] = '\0';
	fclose(file);
	if (!strstr(manual, table))
		fail_msg("the manual lacks what `ramplogd --keys` prints");
	free(table);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_defaults),
		cmocka_unit_test(test_everything),
		cmocka_unit_test(test_errors),
		cmocka_unit_test(test_one_line_and_scales),
		cmocka_unit_test(test_example_is_a_load),
		cmocka_unit_test(test_binary),
		cmocka_unit_test(test_missing_file),
		cmocka_unit_test(test_written_is_read),
		cmocka_unit_test(test_keys_of_the_protocol),
		cmocka_unit_test(test_manual),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
