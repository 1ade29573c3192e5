/* SPDX-License-Identifier: MIT
 *
 * Reads files of the reference folder.
 */
#include "reference.h"

#include "unit/check.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

bool reference_is_there(void)
{
	if (getenv("RAMPLOG_REFERENCE") != NULL)
		return true;
	puts("RAMPLOG_REFERENCE is not set; see tests/README.md");
	return false;
}

void reference_path(const char *name, char path[REFERENCE_PATH_SIZE])
{
	int length =
		snprintf(path, REFERENCE_PATH_SIZE, "%s/%s", getenv("RAMPLOG_REFERENCE"), name);
	assert_in_range(length, 1, REFERENCE_PATH_SIZE - 1);
}

char *reference_read(const char *name, size_t *length)
{
	enum { SIZE_MAX_BYTES = 1 << 20 };
	char path[REFERENCE_PATH_SIZE];
	reference_path(name, path);
	FILE *file = fopen(path, "rb");
	if (file == NULL)
		fail_msg("%s cannot be opened", path);
	char *text = malloc(SIZE_MAX_BYTES);
	assert_non_null(text);
	*length = fread(text, 1, SIZE_MAX_BYTES - 1, file);
	assert_true(feof(file) && !ferror(file));
	fclose(file);
	text[*length] = '\0';
	return text;
}

size_t reference_numbers(const char *name, double *numbers, size_t max)
{
	size_t length, count = 0;
	char *text = reference_read(name, &length);
	char *at = NULL; /* the last of them: the head has a "Data:" too */
	for (char *next = strstr(text, "\nData:"); next != NULL; next = strstr(next + 1, "\nData:"))
		at = next;
	assert_non_null(at);
	at = strchr(at + 1, '\n');
	while (at != NULL && *at != '\0') {
		char *end;
		double number = strtod(at, &end);
		if (end == at) { /* the rule below "Data:", blanks at the end */
			at = strchr(at + 1, '\n');
			continue;
		}
		assert_true(count < max);
		numbers[count++] = number;
		at = end;
	}
	free(text);
	return count;
}

void reference_curve(const char *name, struct curve *curve)
{
	char file[REFERENCE_PATH_SIZE];
	struct message why;
	size_t length;
	snprintf(file, sizeof file, "curves/%s.csv", name);
	char *text = reference_read(file, &length);
	if (!curve_parse(file, text, length, curve, &why))
		fail_msg("%s", why.text);
	free(text);
}
