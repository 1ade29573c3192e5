/* SPDX-License-Identifier: MIT
 *
 * Whole pages only; what shares one with other memory stays.
 */
#include "base/pages.h"

#include <link.h>
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

/* Segments that cannot be written to hold what is in the file, which the system reads again. */
static int give_back_object(struct dl_phdr_info *object, size_t size, void *context)
{
	(void)size;
	(void)context;
	for (size_t i = 0; i < object->dlpi_phnum; i++) {
		const ElfW(Phdr) *segment = &object->dlpi_phdr[i];
		if (segment->p_type == PT_LOAD && !(segment->p_flags & PF_W))
			pages_give_back(
				(void *)(object->dlpi_addr + segment->p_vaddr), segment->p_memsz);
	}
	return 0;
}

void pages_give_back_code(void)
{
	dl_iterate_phdr(give_back_object, NULL);
}
