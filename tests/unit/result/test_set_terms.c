/* SPDX-License-Identifier: MIT
 *
 * What the terms of a set must state.
 */
#include "result/set_terms.h"
#include "unit/check.h"

#include <string.h>

static void what_a_rule_needs(void **state)
{
	(void)state;
	static const struct {
		struct set_terms terms;
		const char *why; /* NULL: good */
	} rows[] = {
		{{"s", "", ACCEPTANCE_NONE, 0, 0, false}, NULL},
		{{"s", "m", ACCEPTANCE_ACI_318, 30e6, 0, true}, NULL},
		{{"s", "m", ACCEPTANCE_EN_206_CONTINUOUS, 30e6, 3e6, true}, NULL},
		{{"", "m", ACCEPTANCE_NONE, 0, 0, false}, "which set"},
		{{"s", "", ACCEPTANCE_ACI_318, 0, 0, false}, "state it"},
		{{"s", "", ACCEPTANCE_EN_206_CONTINUOUS, 30e6, 0, false}, "deviation in force"},
		{{"s", "", ACCEPTANCE_NONE, 500e6, 500e6, false}, NULL},
		{{"s", "", ACCEPTANCE_NONE, 500.1e6, 0, false}, "another unit"},
		{{"s", "a\nb", ACCEPTANCE_NONE, 0, 0, false}, "at most 47 printable bytes"},
		{{"s", "", ACCEPTANCE_NONE, 0, -1, false}, "another unit"},
		{{"s", "a\nb", ACCEPTANCE_NONE, 0, 0, false}, "series"},
	};
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		struct message why = {""};
		bool good = set_terms_check(&rows[i].terms, &why);
		if (good != !rows[i].why || (rows[i].why && !strstr(why.text, rows[i].why)))
			fail_msg("row %zu: %s", i, why.text);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {cmocka_unit_test(what_a_rule_needs)};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
