/* SPDX-License-Identifier: MIT
 *
 * Memory given back holds nothing any more, and what shares a page with it all it had. Code given
 * back takes no memory until it is run again, and runs as before.
 */
#include "base/pages.h"
#include "unit/check.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static void gives_back_whole_pages_alone(void **state)
{
	(void)state;
	size_t page = (size_t)sysconf(_SC_PAGESIZE);
	unsigned char *memory = NULL;
	assert_int_equal(posix_memalign((void **)&memory, page, 4 * page), 0);
	memset(memory, 7, 4 * page);
	pages_give_back(memory + 1, 3 * page + 9); /* the second and the third page */
	for (size_t i = 0; i < 4 * page; i++)
		assert_int_equal(memory[i], i / page == 1 || i / page == 2 ? 0 : 7);
	pages_give_back(memory + 1, page - 2); /* none */
	assert_int_equal(memory[1], 7);
	free(memory);
}

/* How much of the files that are mapped lies in memory, in KiB. */
static long files_resident_kib(void)
{
	char line[128];
	long kib = 0;
	FILE *file = fopen("/proc/self/status", "re");
	assert_non_null(file);
	while (fgets(line, sizeof line, file))
		sscanf(line, "RssFile: %ld", &kib);
	fclose(file);
	return kib;
}

static void gives_back_code_that_is_not_running(void **state)
{
	(void)state;
	files_resident_kib(); /* what that itself needs is there before and after */
	long before = files_resident_kib();
	pages_give_back_code();
	long after = files_resident_kib();
	assert_true(before > 0 && after < before);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(gives_back_whole_pages_alone),
		cmocka_unit_test(gives_back_code_that_is_not_running),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
