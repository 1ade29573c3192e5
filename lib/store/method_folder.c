/* SPDX-License-Identifier: MIT */
#include "store/method_folder.h"

#include <dirent.h>
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static void tell(const char *path, const char *what, method_complain *complain, void *context)
{
	char text[MESSAGE_SIZE];
	snprintf(text, sizeof text, "%s: %s", path, what);
	complain(context, text);
}

/* One byte more than a method may have, so that a file too long is seen to be it. */
static bool read_file(const char *path, char text[METHOD_TEXT_SIZE + 1], size_t *size,
	method_complain *complain, void *context)
{
	FILE *file = fopen(path, "re");
	if (!file) {
		tell(path, strerror(errno), complain, context);
		return false;
	}
	*size = fread(text, 1, METHOD_TEXT_SIZE, file);
	text[*size] = '\0';
	bool good = !ferror(file);
	if (!good)
		tell(path, strerror(errno), complain, context);
	fclose(file);
	return good;
}

bool method_folder_check(
	const char *path, struct method *method, method_complain *complain, void *context)
{
	char text[METHOD_TEXT_SIZE + 1];
	size_t size;
	bool good = read_file(path, text, &size, complain, context) &&
		    method_read(text, size, path, method, complain, context);
	method->text = "";
	return good;
}

static int is_method(const struct dirent *entry)
{
	size_t length = strlen(entry->d_name);
	return entry->d_name[0] != '.' && length > 4 &&
	       strcmp(entry->d_name + length - 4, ".ini") == 0;
}

static bool load_file(const char *path, method_complain *complain, void *context)
{
	char text[METHOD_TEXT_SIZE + 1];
	size_t size;
	return read_file(path, text, &size, complain, context) &&
	       methods_add(text, size, path, complain, context);
}

size_t method_folder_load(const char *folder, method_complain *complain, void *context)
{
	struct dirent **entries;
	size_t bad = 0;
	int count = scandir(folder, &entries, is_method, alphasort);
	if (count < 0 && errno == ENOENT)
		return 0;
	if (count < 0) {
		tell(folder, strerror(errno), complain, context);
		return 1;
	}
	for (int i = 0; i < count; i++) {
		char path[512];
		snprintf(path, sizeof path, "%s/%s", folder, entries[i]->d_name);
		bad += !load_file(path, complain, context);
		free(entries[i]);
	}
	free(entries);
	return bad;
}
