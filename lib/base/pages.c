/* SPDX-License-Identifier: MIT
 *
 * Whole pages only; what shares one with other memory stays.
 */
#include "base/pages.h"

#include <stdint.h>
#include <sys/mman.h>
#include <unistd.h>

void pages_give_back(void *memory, size_t size)
{
	size_t page = (size_t)sysconf(_SC_PAGESIZE);
	uintptr_t begin = ((uintptr_t)memory + page - 1) / page * page;
	uintptr_t end = ((uintptr_t)memory + size) / page * page;
	if (begin < end)
		madvise((void *)begin, end - begin, MADV_DONTNEED);
}
