/* SPDX-License-Identifier: MIT
 *
 * Curve files: what is read, and what is refused with file, line and reason.
 */
#include "measure/curve.h"
#include "unit/check.h"

#include <string.h>

static bool parse(const char *text, struct curve *curve, struct message *why)
{
	return curve_parse("curve.csv", text, strlen(text), curve, why);
}

static void check_good(const char *text, struct curve *curve)
{
	struct message why;
	if (!parse(text, curve, &why))
		fail_msg("refused: %s", why.text);
}

static void check_sample(const struct curve *curve, size_t index, int64_t time_ns, int64_t load_un)
{
	assert_true(index < curve->count);
	assert_int_equal(curve->samples[index].time.ns, time_ns);
	assert_int_equal(curve->samples[index].load_un, load_un);
	assert_int_equal(curve->samples[index].flags, 0);
}

static void a_plain_curve_is_read_exactly(void **state)
{
	(void)state;
	struct curve curve;
	check_good("time_s,load_kn\n0.0000,16.8201\n0.2002,19.2704\n1e1,-0.5\n", &curve);
	assert_int_equal(curve.count, 3);
	check_sample(&curve, 0, 0, 16820100000);
	check_sample(&curve, 1, 200200000, 19270400000);
	check_sample(&curve, 2, 10000000000, -500000000);
	assert_int_equal(curve.step_un, 100000); /* 0.0001 kN */
	curve_finish(&curve);
	assert_null(curve.samples);
	assert_int_equal(curve.count, 0);
}

static void each_load_column_has_its_unit(void **state)
{
	(void)state;
	struct curve curve;
	check_good("load_n,time_s\n1.5,0\n", &curve);
	check_sample(&curve, 0, 0, 1500000);
	assert_int_equal(curve.step_un, 100000);
	curve_finish(&curve);
	check_good("time_s,load_lbf\n0,122200\n", &curve);
	check_sample(&curve, 0, 0, 543572681385); /* 122200 lbf = 543572.6813848331 N */
	assert_int_equal(curve.step_un, 4448222);
	curve_finish(&curve);
	check_good("time_s,load_n\n0,0.0000000001\n", &curve);
	assert_int_equal(curve.step_un, 1);
	curve_finish(&curve);
	check_good("time_s,load_n\n0,1e3\n1,2e3\n", &curve);
	assert_int_equal(curve.step_un, 1000000000);
	curve_finish(&curve);
}

static void comments_marks_and_line_ends_are_accepted(void **state)
{
	(void)state;
	struct curve curve;
	check_good("\xef\xbb\xbf# a bench of ours, press 2\r\n\r\n  \r\ntime_s , load_kn\r\n"
		   "# ramp\r\n0, 1.0\r\n\r\n0.5 ,\t2.0",
		&curve);
	assert_int_equal(curve.count, 2);
	check_sample(&curve, 1, 500000000, 2000000000);
	curve_finish(&curve);
}

static void further_columns_are_ignored(void **state)
{
	(void)state;
	struct curve curve;
	check_good("note,time_s,\"crack, mm\",\"load_kn\"\n"
		   "\"a \"\"quoted\"\", one\",0,,\"1\"\n"
		   "\"over\ntwo lines, this\",1,3,2\n"
		   "nan,2,inf,3\n",
		&curve);
	assert_int_equal(curve.count, 3);
	check_sample(&curve, 0, 0, 1000000000);
	check_sample(&curve, 1, 1000000000, 2000000000);
	check_sample(&curve, 2, 2000000000, 3000000000);
	curve_finish(&curve);
}

static void check_refused(const char *text, const char *reason)
{
	struct curve curve = {0};
	struct message why = {{0}};
	if (parse(text, &curve, &why))
		fail_msg("read: %s", text);
	assert_null(curve.samples);
	assert_string_equal(why.text, reason);
}

static void what_is_wrong_is_named_with_file_and_line(void **state)
{
	(void)state;
	check_refused("", "curve.csv: nothing in it: the first line must name the columns, "
			  "e.g. time_s,load_kn");
	check_refused("# only this\n\n",
		"curve.csv: nothing in it: the first line must name the columns, "
		"e.g. time_s,load_kn");
	check_refused(
		"time_s,load_kn\n", "curve.csv: no row below the header: a curve needs samples");
	check_refused("time;load_kn\n0;1\n",
		"curve.csv:1: no column time_s: the first line must name the columns, "
		"with commas between them, e.g. time_s,load_kn (or load_n, load_lbf)");
	check_refused("#\ntime_s,load\n0,1\n",
		"curve.csv:2: no column load_kn, load_n or load_lbf: the first line must name "
		"the columns, with commas between them, e.g. time_s,load_kn (or load_n, "
		"load_lbf)");
	check_refused("time_s,load_kn,time_s\n", "curve.csv:1: the column time_s stands twice");
	check_refused("time_s,load_kn,load_kn\n",
		"curve.csv:1: load_kn and load_kn: which column is the load? Leave one of them");
	check_refused("time_s,load_kn,load_n\n",
		"curve.csv:1: load_kn and load_n: which column is the load? Leave one of them");
	check_refused("time_s,load_kn\n0,1\n0.1,nan\n",
		"curve.csv:3: load_kn \"nan\" is not a decimal number of at most 18 digits");
	check_refused("time_s,load_kn\ninf,1\n",
		"curve.csv:2: time_s \"inf\" is not a decimal number of at most 18 digits");
	check_refused("time_s,load_kn\n0,\n", "curve.csv:2: load_kn is empty");
	check_refused("time_s,load_kn\n-0.1,1\n",
		"curve.csv:2: time_s -0.1 is negative: times start at 0");
	check_refused("time_s,load_kn\n3.2,1\n# x\n3.20,2\n",
		"curve.csv:4: time_s 3.20 does not come after 3.2: times must increase");
	check_refused("time_s,load_kn\n1e18,1\n", "curve.csv:2: time_s 1e18 is beyond 292 years");
	check_refused("time_s,load_kn\n0,100001\n",
		"curve.csv:2: load_kn 100001 is beyond 100 MN: another unit?");
	check_refused("time_s,load_kn\n0\n",
		"curve.csv:2: 1 cells where the header names 2 columns "
		"(a decimal comma? use a point)");
	check_refused("time_s,load_kn\n0,5,1,5\n",
		"curve.csv:2: 4 cells where the header names 2 columns "
		"(a decimal comma? use a point)");
	check_refused("note,time_s,load_kn\n\"two\nlines\",0,1\n\"never closed,1,2\n",
		"curve.csv:4: a cell opens with a quote that is never closed");
	check_refused("time_s,load_kn\n0,\x1b[2J\xff\n",
		"curve.csv:2: load_kn \"?[2J?\" is not a decimal number of at most 18 digits");
}

static void a_nul_byte_is_named_with_its_line(void **state)
{
	(void)state;
	static const char text[] = "time_s,load_kn\n0,1\n1,\0002\n";
	struct curve curve;
	struct message why;
	assert_false(curve_parse("curve.csv", text, sizeof(text) - 1, &curve, &why));
	assert_string_equal(why.text, "curve.csv:3: a NUL byte: this is no text file");
	assert_false(curve_parse("curve.csv", NULL, 0, &curve, &why));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(a_plain_curve_is_read_exactly),
		cmocka_unit_test(each_load_column_has_its_unit),
		cmocka_unit_test(comments_marks_and_line_ends_are_accepted),
		cmocka_unit_test(further_columns_are_ignored),
		cmocka_unit_test(what_is_wrong_is_named_with_file_and_line),
		cmocka_unit_test(a_nul_byte_is_named_with_its_line),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
