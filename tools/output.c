/* SPDX-License-Identifier: MIT */
#include "output.h"

#include "commands.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum { OUTPUT_PATH_SIZE = 4096 };

static error_t parse(int key, char *typed, struct argp_state *state)
{
	const char **path = state->input;
	if (key != 'o')
		return ARGP_ERR_UNKNOWN;
	*path = typed;
	return 0;
}

static const struct argp_option options[] = {
	{"output", 'o', "FILE", 0, "draw into this file; its ending names the format", 1}, {0}};

const struct argp output_argp = {.options = options, .parser = parse};

struct output {
	const char *command, *path;
	char part[OUTPUT_PATH_SIZE]; /* where it is written first */
	FILE *file;
	int error; /* errno of what failed first; 0: nothing did */
};

static void say(const char *command, const char *path, int error)
{
	fprintf(stderr, "%s: %s cannot be written: %s\n", command, path, strerror(error));
}

struct output *output_open(const char *command, const char *path)
{
	struct output *output = calloc(1, sizeof(*output));
	if (!output) {
		say(command, path, ENOMEM);
		return NULL;
	}
	output->command = command;
	output->path = path;
	int length = snprintf(output->part, sizeof(output->part), "%s.part", path);
	bool fits = length > 0 && (size_t)length < sizeof(output->part);
	output->file = fits ? fopen(output->part, "wb") : NULL;
	if (!output->file) {
		say(command, path, fits ? errno : ENAMETOOLONG);
		free(output);
		return NULL;
	}
	return output;
}

bool output_take(void *context, const void *bytes, size_t count)
{
	struct output *output = context;
	if (fwrite(bytes, 1, count, output->file) != count && !output->error)
		output->error = errno;
	return !output->error;
}

int output_close(struct output *output, bool good)
{
	bool written = fflush(output->file) == 0 && fsync(fileno(output->file)) == 0;
	/* A pipe or a terminal cannot be synced, and need not be. */
	if (!written && errno != EINVAL && !output->error)
		output->error = errno;
	fclose(output->file);
	if (good && !output->error && rename(output->part, output->path) != 0)
		output->error = errno;
	if (!good && !output->error)
		output->error = ENOMEM;
	int code = output->error ? EXIT_CANNOT : EXIT_DONE;
	if (output->error) {
		say(output->command, output->path, output->error);
		remove(output->part);
	}
	free(output);
	return code;
}

bool output_format(const char *command, const char *path, enum page_format *format)
{
	if (page_format_of(path, format))
		return true;
	fprintf(stderr, "%s: %s: name a file that ends in .svg, .pdf or .png\n", command, path);
	return false;
}

int output_page(const char *command, const char *path, enum page_format format, struct page *page,
	const struct page_about *about)
{
	struct output *output = output_open(command, path);
	bool good = output && page && page_write(&page, 1, about, format, output_take, output);
	page_destroy(page);
	return output ? output_close(output, good) : EXIT_CANNOT;
}

int output_picture(const char *command, const char *path, const struct run_picture *picture,
	const struct page_about *about)
{
	enum page_format format;
	if (!output_format(command, path, &format))
		return EXIT_CANNOT;
	return output_page(command, path, format, run_picture_page(picture), about);
}
