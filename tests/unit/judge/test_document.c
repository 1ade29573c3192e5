/* SPDX-License-Identifier: MIT
 *
 * docs/judging.md lists every threshold of the policy with the value, the unit and the reason that
 * stand in the code, in the same order, and no other.
 */
#include "judge/policy.h"
#include "unit/check.h"

#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { LINE_SIZE = 4096, ROW_SIZE = 1024 };

/* How a row of the table begins; what follows is the effect, as measured. */
static void row_of(const struct policy_entry *entry, char row[ROW_SIZE])
{
	snprintf(row, ROW_SIZE, "| `%s` | %.6g | %s | %s |", entry->name, entry->value, entry->unit,
		entry->reason);
}

static FILE *open_document(void)
{
	const char *path = getenv("RAMPLOG_DOCUMENT");
	assert_non_null(path);
	FILE *file = fopen(path, "r");
	if (file == NULL)
		fail_msg("%s cannot be read", path);
	return file;
}

static void thresholds_are_those_of_the_code(void **state)
{
	(void)state;
	FILE *file = open_document();
	const struct policy_entry *entry = policy_table();
	char line[LINE_SIZE], row[ROW_SIZE];
	bool within = false;
	while (fgets(line, sizeof line, file) != NULL) {
		within = within || strncmp(line, "| threshold |", 13) == 0;
		if (within && line[0] == '\n')
			break; /* the end of the table */
		if (!within || strncmp(line, "| `", 3) != 0)
			continue;
		if (entry->name == NULL)
			fail_msg("in docs/judging.md but not in the policy: %s", line);
		row_of(entry, row);
		if (strncmp(line, row, strlen(row)) != 0)
			fail_msg("docs/judging.md says\n%sthe policy\n%s\nPut the policy's row "
				 "into the table, with \"not measured |\" twice after it, until "
				 "`corpus --halve-double` has measured what it does.",
				line, row);
		entry++;
	}
	fclose(file);
	if (entry->name != NULL) {
		row_of(entry, row);
		fail_msg("not in docs/judging.md: %s", row);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {cmocka_unit_test(thresholds_are_those_of_the_code)};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
