/* SPDX-License-Identifier: MIT
 *
 * `ramplog assess` on files and options that it must refuse, saying what, where and what to do.
 */
#include "lab.h"

#include "unit/check.h"

#include <stdio.h>
#include <string.h>

static void check_refused(struct lab *lab, const char *curve, const char *said)
{
	char path[LAB_PATH_SIZE];
	snprintf(path, sizeof path, "%.60s/curve.csv", lab->folder);
	remove(path);
	lab_write(path, "%s", curve);
	struct harness_output output = lab_run(lab, "assess", path, "--method", "astm-c39",
		"--diameter-mm", "100", "--length-mm", "200", NULL);
	if (output.status != 2 || output.errors == NULL || strstr(output.errors, said) == NULL)
		fail_msg("status %d, said '%s', expected '%s' for:\n%s", output.status,
			output.errors, said, curve);
	assert_non_null(strstr(output.errors, path));
	harness_output_finish(&output);
}

static void test_curve_files(void **state)
{
	struct lab *lab = *state;
	check_refused(lab, "time_s,load_kn\n0,1\n1,NaN\n", ":3");
	check_refused(lab, "time_s,load_kn\n-1,1\n1,2\n", ":2");
	check_refused(lab, "time_s,load_kn\n0,1\n0,2\n", ":3");
	check_refused(lab, "time_s,load_kn\n0,1\n1\n", ":3");
	check_refused(lab, "time_s,load_mn\n0,1\n", ":1");
	check_refused(lab, "time_s,load_kn,load_n\n0,1,1\n", ":1");
	check_refused(lab, "time_s,load_kn\n0,1e99\n", ":2");
	check_refused(lab, "", "");
	check_refused(lab, "time_s,load_kn\n", "");
	lab_must(lab, 2, "assess", "/nowhere/curve.csv", "--method", "astm-c39", "--diameter-mm",
		"100", "--length-mm", "200", NULL);
}

static void test_curve_without_a_load(void **state)
{
	struct lab *lab = *state;
	char path[LAB_PATH_SIZE];
	snprintf(path, sizeof path, "%.60s/curve.csv", lab->folder);
	lab_write(path, "time_s,load_kn\n");
	for (int i = 0; i < 100; i++)
		lab_write(path, "%d,0\n", i);
	json_t *object = lab_json(lab, "assess", path, "--method", "astm-c39", "--diameter-mm",
		"100", "--length-mm", "200", NULL);
	assert_string_equal(json_string_value(json_object_get(object, "end")), "no_load");
	json_t *rate = json_object_get(object, "rate");
	assert_true(json_is_null(json_object_get(rate, "verdict")));
	check_near(json_real_value(json_object_get(rate, "band_low_mpa_s")), 0.20, 1e-9);
	json_decref(object);
}

static void test_assess_options(void **state)
{
	struct lab *lab = *state;
	char path[LAB_PATH_SIZE];
	snprintf(path, sizeof path, "%.60s/curve.csv", lab->folder);
	lab_write(path, "time_s,load_kn\n0,0\n1,1\n");
	static const char *const wrong[][4] = {
		{"astm-c39", "--diameter-mm", "0", "--length-mm"},
		{"astm-c39", "--diameter-mm", "-100", "--length-mm"},
		{"astm-c39", "--diameter-mm", "nan", "--length-mm"},
		{"astm-c40", "--diameter-mm", "100", "--length-mm"},
		{"astm-c39", "--diametre-mm", "100", "--length-mm"},
	};
	for (size_t i = 0; i < sizeof wrong / sizeof *wrong; i++)
		lab_must(lab, 2, "assess", path, "--method", wrong[i][0], wrong[i][1], wrong[i][2],
			wrong[i][3], "200", NULL);
	lab_must(lab, 2, "assess", path, "--method", "astm-c39", NULL);
	lab_must(lab, 2, "assess", path, "--diameter-mm", "100", "--length-mm", "200", NULL);
}

#define IN_LAB(test) cmocka_unit_test_setup_teardown(test, lab_set_up, lab_tear_down)

int main(void)
{
	const struct CMUnitTest tests[] = {
		IN_LAB(test_curve_files),
		IN_LAB(test_curve_without_a_load),
		IN_LAB(test_assess_options),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
