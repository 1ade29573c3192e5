/* SPDX-License-Identifier: MIT
 *
 * Plays every file of a corpus folder to a fuzz target, in order of their names, so that what was
 * once found stays found without a fuzzer. Each input lies in memory of exactly its size, where a
 * sanitizer sees one byte too many. Exit 0: all played; 2: the folder or a file cannot be read.
 */
#include "fuzz.h"

#include <dirent.h>
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

static int play_file(const char *path)
{
	FILE *file = fopen(path, "rb");
	struct stat stat;
	if (!file || fstat(fileno(file), &stat) != 0) {
		fprintf(stderr, "%s: %s\n", path, strerror(errno));
		if (file)
			fclose(file);
		return 2;
	}
	size_t size = (size_t)stat.st_size;
	uint8_t *data = malloc(size);
	int status = 2;
	if ((data || size == 0) && fread(data, 1, size, file) == size) {
		/* Said first: when it crashes this is the last line. */
		printf("%s\n", path);
		fflush(stdout);
		status = LLVMFuzzerTestOneInput(data, size);
	} else {
		fprintf(stderr, "%s: cannot be read whole\n", path);
	}
	free(data);
	fclose(file);
	return status;
}

static int is_visible(const struct dirent *entry)
{
	return entry->d_name[0] != '.';
}

int main(int argc, char **argv)
{
	if (argc != 2) {
		fprintf(stderr, "usage: %s CORPUS-FOLDER\n", argv[0]);
		return 2;
	}
	struct dirent **entries;
	int count = scandir(argv[1], &entries, is_visible, alphasort);
	if (count <= 0) {
		fprintf(stderr, "%s: no corpus: %s\n", argv[1],
			count < 0 ? strerror(errno) : "the folder is empty");
		return 2;
	}
	int status = 0;
	for (int i = 0; i < count; i++) {
		char path[4096];
		snprintf(path, sizeof(path), "%s/%s", argv[1], entries[i]->d_name);
		if (play_file(path) != 0)
			status = 2;
		free(entries[i]);
	}
	free(entries);
	return status;
}
