/* SPDX-License-Identifier: MIT
 *
 * Memory given back holds nothing any more, and what shares a page with it all it had.
 */
#include "base/pages.h"
#include "unit/check.h"

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

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(gives_back_whole_pages_alone),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
