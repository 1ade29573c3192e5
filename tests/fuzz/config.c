/* SPDX-License-Identifier: MIT
 *
 * The daemon's configuration: whatever the file holds, it is refused with an error or taken, and
 * what is taken is taken again as it is written.
 */
#include "fuzz.h"

#include "config.h"

#include <assert.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <unistd.h>

static void count(void *context, const char *text)
{
	assert(text[0] != '\0' && strlen(text) < 4096);
	++*(size_t *)context;
}

/* A file in memory, which the reader opens by a name. */
static struct config *load(FILE *file, struct config **partial, size_t *error_count)
{
	char path[32];
	fflush(file);
	snprintf(path, sizeof path, "/proc/self/fd/%d", fileno(file));
	return config_load(path, count, error_count, partial);
}

static FILE *open_file(void)
{
	FILE *file = fdopen(memfd_create("config", MFD_CLOEXEC), "w");
	assert(file != NULL);
	return file;
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
	struct config *partial = NULL;
	size_t error_count = 0;
	FILE *file = open_file(), *written = open_file();
	fwrite(data, 1, size, file);
	struct config *config = load(file, &partial, &error_count);
	assert((config != NULL) == (error_count == 0) && (config == NULL || partial == NULL));
	if (config != NULL || partial != NULL)
		config_write(config != NULL ? config : partial, written);
	if (config != NULL) {
		struct config *again = load(written, NULL, &error_count);
		assert(again != NULL && again->cell_count == config->cell_count &&
			again->press_count == config->press_count);
		config_destroy(again);
	}
	config_destroy(config);
	config_destroy(partial);
	fclose(file);
	fclose(written);
	return 0;
}
