/* SPDX-License-Identifier: MIT
 *
 * The words for ends, verdicts, bases and events: stored and printed, so that they are read back as
 * what they were and never change.
 */
#include "judge/judge.h"
#include "unit/check.h"

#include <string.h>

static void ends(void **state)
{
	(void)state;
	const char *const words[] = {"broken", "unloaded", "interrupted", "no_load"};
	for (size_t i = 0; i < sizeof words / sizeof words[0]; i++) {
		enum end end;
		assert_string_equal(end_text((enum end)i), words[i]);
		assert_true(end_parse(words[i], &end));
		assert_int_equal(end, i);
	}
	enum end end = END_UNLOADED;
	assert_false(end_parse("brokenly", &end));
	assert_false(end_parse("", &end));
	assert_int_equal(end, END_UNLOADED);
}

static void verdicts(void **state)
{
	(void)state;
	const char *const words[] = {"", "in_band", "out_of_band", "undetermined"};
	for (size_t i = 0; i < sizeof words / sizeof words[0]; i++) {
		enum verdict verdict;
		assert_string_equal(verdict_text((enum verdict)i), words[i]);
		assert_true(verdict_parse(words[i], &verdict));
		assert_int_equal(verdict, i);
	}
	enum verdict verdict;
	assert_false(verdict_parse("in band", &verdict));
}

static void bases(void **state)
{
	(void)state;
	enum basis basis;
	assert_string_equal(basis_text(BASIS_ANTICIPATED), "anticipated");
	assert_string_equal(basis_text(BASIS_MAXIMUM), "maximum");
	assert_true(basis_parse("maximum", &basis));
	assert_int_equal(basis, BASIS_MAXIMUM);
	assert_true(basis_parse("anticipated", &basis));
	assert_int_equal(basis, BASIS_ANTICIPATED);
	assert_false(basis_parse("actual", &basis));
}

static void events(void **state)
{
	(void)state;
	const char *const words[] = {"stall", "shock", "drop", "recovery", "let_off",
		"alignment_check", "spike", "stuck", "gap", "zero_offset", "over_range",
		"band_left", "band_regained"};
	for (size_t i = 0; i < sizeof words / sizeof words[0]; i++) {
		enum event_kind kind;
		assert_string_equal(event_kind_text((enum event_kind)i), words[i]);
		assert_true(event_kind_parse(words[i], &kind));
		assert_int_equal(kind, i);
	}
	enum event_kind kind;
	assert_false(event_kind_parse("Stall", &kind));
}

static void phases(void **state)
{
	(void)state;
	const char *const words[] = {"idle", "seating", "first_half", "latter_half", "yielding",
		"declining", "released"};
	for (size_t i = 0; i < sizeof words / sizeof words[0]; i++)
		assert_string_equal(phase_text((enum phase)i), words[i]);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(ends),
		cmocka_unit_test(verdicts),
		cmocka_unit_test(bases),
		cmocka_unit_test(events),
		cmocka_unit_test(phases),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
