/* SPDX-License-Identifier: MIT
 *
 * The format of a method's file: what is read, and that every error is told with its line.
 */
#include "base/units.h"
#include "result/methods.h"
#include "unit/check.h"

#include <pthread.h>
#include <stdio.h>
#include <string.h>

#define GOOD \
	"[method]\nname = yard-1\nstandard = Yard 1\nunits = SI\n" \
	"[specimen]\nshapes = cylinder cube\n" \
	"[rate]\nunit = MPa/s\nband = 0.2 to 0.3\nfrom = 50 %\nto = 90 %\n" \
	"[strength]\nreport = 0.5 MPa\n"

static char told[4096];
static struct method method; /* large */

static void tell(void *context, const char *text)
{
	size_t used = strlen(told);
	(void)context;
	snprintf(told + used, sizeof told - used, "%s\n", text);
}

static bool read_text(const char *text)
{
	told[0] = '\0';
	return method_read(text, strlen(text), "/lab/yard-1.ini", &method, tell, NULL);
}

static void must_read(const char *text)
{
	if (!read_text(text))
		fail_msg("refused: %s", told);
}

static void must_refuse(const char *text, const char *expected)
{
	assert_false(read_text(text));
	assert_string_equal(told, expected);
}

static void a_short_file_is_a_method(void **state)
{
	(void)state;
	must_read(GOOD);
	assert_string_equal(method.name, "yard-1");
	assert_string_equal(method.text, GOOD);
	assert_int_equal(method.shapes, 1U << SHAPE_CYLINDER | 1U << SHAPE_CUBE);
	assert_true(method.band_low == 0.2 && method.band_high == 0.3);
	assert_true(method.span_from == 0.5 && method.span_to == 0.9);
	assert_int_equal(method.window_ns, 5 * CLOCKS_NS_PER_S);
	assert_int_equal(method.report_step, 5);
	assert_int_equal(method.report_exponent, -1);
}

static void every_kind_of_value_is_read(void **state)
{
	(void)state;
	must_read(GOOD "size_factor = 100 mm : 0.95\n"
		       "factor_at_most = 1.75\nratio_least = 1.5\n"
		       "factor = 1.75 : 0.98\nfactor = 1.50 : 0.96\n"
		       "[specimen]\nwidth_to = 0.01 in\npad = 70 : 50 to 80 MPa : 50 : qualified\n"
		       "upper_face = 100 mm : 165 mm\nreduced = 10 : 3 : 0.5 mm\nmoist = yes\n"
		       "density_to = 10 kg/m3\nratio_usual = 1.8 to 2.2\nnominal = 50 mm : 1.5 %\n"
		       "[age]\nage = 28 d : 20 h\nother = 2 %\n"
		       "[precision]\nrange = 150 mm : 2 : field : 8.0 %\n"
		       "[fracture]\ntype = 2 : void : outside: nothing\n"
		       "[clause]\nclause = rate : 8.5\n");
	assert_int_equal(method.width_to_um, 254);
	assert_int_equal(method.pads[0].hardness, 70);
	assert_true(method.pads[0].low_pa == 50e6 && method.pads[0].high_pa == 80e6);
	assert_int_equal(method.pads[0].uses, 50);
	assert_true(method.pads[0].qualified);
	assert_int_equal(method.faces[0].face_um, 165000);
	assert_int_equal(method.reduced_a_day, 3);
	assert_int_equal(method.reduced_within_um, 500);
	assert_true(method.moist);
	assert_int_equal(method.density_step, 10);
	assert_true(method.ratio_usual_high == 2.2);
	assert_true(method.nominal_within == 0.015);
	assert_int_equal(method.ages[0].tolerance_ns, 20 * 3600 * CLOCKS_NS_PER_S);
	assert_true(method.age_other == 0.02);
	assert_true(method.ranges[0].field && method.ranges[0].percent == 8.0);
	assert_int_equal(method_fracture(&method, 2)->worth, METHOD_FRACTURE_VOID);
	assert_string_equal(method_fracture(&method, 2)->words, "outside: nothing");
	assert_null(method_fracture(&method, 1));
	assert_string_equal(method_clause(&method, "rate"), "8.5");
	assert_true(method.size_factors[0].width_um == 100000);
	assert_int_equal(method.factor_count, 2);
}

static void every_error_is_told_with_its_line(void **state)
{
	(void)state;
	must_refuse("[method]\nname = yard-2\nstandard = Yard 1\nunits = stone\nunits = SI\n"
		    "[specimen]\nshapes = sphere\nwidth_to = 1 ell\n"
		    "[rates]\nfoo = 1\n"
		    "[rate]\nunit = psi/s\nband = 0.3 to 0.2\nspeed = 1\n line\nfrom\nfrom = 50 %\n"
		    "[strength]\nreport = 10 psi\nfactor = 1.75 : 0.98\n",
		"/lab/yard-1.ini:4: units = stone: SI or inch-pound\n"
		"/lab/yard-1.ini:5: units was given on line 4 already\n"
		"/lab/yard-1.ini:7: shapes = sphere: there is no shape sphere\n"
		"/lab/yard-1.ini:8: width_to = 1 ell: a length like 0.25 mm\n"
		"/lab/yard-1.ini:9: unknown section [rates]: method, specimen, rate, strength, "
		"age, "
		"precision, fracture or clause is meant\n"
		"/lab/yard-1.ini:13: band = 0.3 to 0.2: a range like 0.20 to 0.30, in the unit "
		"given\n"
		"/lab/yard-1.ini:14: unknown key speed in [rate]: one of unit, band, chosen, "
		"default, tolerance, time, from, basis, to, window is meant\n"
		"/lab/yard-1.ini:15: the line begins with a blank: remove it\n"
		"/lab/yard-1.ini:16: neither [section] nor key = value\n"
		"/lab/yard-1.ini:2: name = yard-2: the file must be named yard-2.ini\n"
		"/lab/yard-1.ini:12: a rate in psi/s in a method of the other system of units\n"
		"/lab/yard-1.ini:17: from must lie below to, and to at 100 % or below\n"
		"/lab/yard-1.ini:20: factors and one of factor_at_most and factor_below go "
		"together\n"
		"/lab/yard-1.ini:20: the last factor must be for ratio_least: nothing is "
		"extrapolated\n"
		"/lab/yard-1.ini:19: a strength in psi in a method of the other system of units\n");
}

static void what_must_be_there_is_asked_for(void **state)
{
	(void)state;
	must_refuse("[method]\n",
		"/lab/yard-1.ini: [method] needs a line name = ...\n"
		"/lab/yard-1.ini: [method] needs a line standard = ...\n"
		"/lab/yard-1.ini: [method] needs a line units = ...\n"
		"/lab/yard-1.ini: [specimen] needs a line shapes = ...\n"
		"/lab/yard-1.ini: [rate] needs a line from = ...\n"
		"/lab/yard-1.ini: [strength] needs a line report = ...\n"
		"/lab/yard-1.ini: [rate] needs one of band, chosen and time, and only one\n");
	must_refuse("", "/lab/yard-1.ini: a method's file has 1 to 8191 bytes and no zero among "
			"them\n");
}

static void clauses_are_for_what_was_read(void **state)
{
	(void)state;
	must_refuse(GOOD "[method]\nunsure = the rate\n[clause]\nclause = rate : 8.5\n",
		"/lab/yard-1.ini:17: clauses are only for a file whose every value was read in the "
		"standard: it still says unsure = ... on line 15\n");
}

static void a_laboratory_adds_and_replaces(void **state)
{
	(void)state;
	char text[METHOD_TEXT_SIZE];
	told[0] = '\0';
	size_t before = methods_count();
	assert_true(methods_add(GOOD, strlen(GOOD), "/lab/yard-1.ini", tell, NULL));
	assert_int_equal(methods_count(), before + 1);
	assert_string_equal(method_find("yard-1")->standard, "Yard 1");
	assert_string_equal(methods_source(method_find("yard-1")), "/lab/yard-1.ini");
	assert_null(methods_built_in("yard-1"));
	/* one that is built in is replaced, and still there for older runs */
	const struct method *own = method_find("en-12390-3");
	snprintf(text, sizeof text, "%s", own->text);
	memcpy(strstr(text, "0.4 to 0.8"), "0.5 to 0.7", 10);
	assert_true(methods_add(text, strlen(text), "/lab/en-12390-3.ini", tell, NULL));
	assert_int_equal(methods_count(), before + 1);
	assert_true(method_find("en-12390-3")->chosen_low == 0.5);
	assert_ptr_equal(methods_built_in("en-12390-3"), own);
	/* what cannot be read changes nothing */
	assert_false(methods_add("[method]\n", 9, "/lab/en-12390-3.ini", tell, NULL));
	assert_true(method_find("en-12390-3")->chosen_low == 0.5);
}

enum { THREADS = 4, TEXTS = 40 };

static pthread_barrier_t together;

/* Argument: the TEXTS methods that this thread was told of. */
static void *ask_for_all(void *argument)
{
	const struct method **methods = argument;
	char text[sizeof(GOOD) + 32];

	for (size_t i = 0; i < TEXTS; i++) {
		snprintf(text, sizeof(text), "; text %zu\n%s", i, GOOD);
		pthread_barrier_wait(&together);
		methods[i] = methods_recorded("yard-1", text);
	}
	return NULL;
}

/* As the threads of an audit do, each with a run of its own. */
static void one_text_is_one_method_for_every_thread(void **state)
{
	static const struct method *methods[THREADS][TEXTS];
	pthread_t threads[THREADS];

	(void)state;
	pthread_barrier_init(&together, NULL, THREADS);
	for (size_t i = 0; i < THREADS; i++)
		assert_int_equal(pthread_create(&threads[i], NULL, ask_for_all, methods[i]), 0);
	for (size_t i = 0; i < THREADS; i++)
		assert_int_equal(pthread_join(threads[i], NULL), 0);
	pthread_barrier_destroy(&together);
	for (size_t i = 0; i < TEXTS; i++) {
		assert_non_null(methods[0][i]);
		for (size_t other = 1; other < THREADS; other++)
			assert_ptr_equal(methods[other][i], methods[0][i]);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(a_short_file_is_a_method),
		cmocka_unit_test(every_kind_of_value_is_read),
		cmocka_unit_test(every_error_is_told_with_its_line),
		cmocka_unit_test(what_must_be_there_is_asked_for),
		cmocka_unit_test(clauses_are_for_what_was_read),
		cmocka_unit_test(a_laboratory_adds_and_replaces),
		cmocka_unit_test(one_text_is_one_method_for_every_thread),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
