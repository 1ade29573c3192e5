/* SPDX-License-Identifier: MIT
 *
 * Reports as files beside the database that they are made from.
 */
#include "paper.h"

#include "../check.h"
#include "../draw/pages.h"
#include "../store/fixture.h"
#include "calls.h"
#include "commands.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { FILE_SIZE_MOST = 1 << 20 };

static char path_of_file[PAPER_PATH_SIZE];

const char *paper_beside(const char *database, const char *name)
{
	size_t folder = (size_t)(strrchr(database, '/') - database);
	snprintf(path_of_file, sizeof(path_of_file), "%.*s/%s", (int)folder, database, name);
	return path_of_file;
}

int paper_make(const char *database, const char *name, const char *line)
{
	char command[600];
	snprintf(command, sizeof(command), "%s -o %s", line, paper_beside(database, name));
	return calls_run(database, command);
}

void paper_done(const char *database, const char *name, const char *line)
{
	int code = paper_make(database, name, line);
	if (code != EXIT_DONE)
		fail_msg("'%s' gives %d: %s", line, code, calls_err);
}

/* The whole file, ended by a NUL. */
static char *read_all(FILE *file, size_t *count)
{
	char *text = malloc(FILE_SIZE_MOST);
	assert_true(file && text);
	size_t got = fread(text, 1, FILE_SIZE_MOST - 1, file);
	text[got] = '\0';
	if (count)
		*count = got;
	return text;
}

char *paper_read(const char *database, const char *name, size_t *count)
{
	FILE *file = fopen(paper_beside(database, name), "rb");
	char *text = read_all(file, count);
	fclose(file);
	return text;
}

char *paper_printed(const char *command)
{
	FILE *pipe = popen(command, "r");
	char *text = read_all(pipe, NULL);
	assert_int_equal(pclose(pipe), 0);
	return text;
}

char *paper_text(const char *database, const char *line)
{
	paper_done(database, "a.txt", line);
	return paper_read(database, "a.txt", NULL);
}

void paper_same(const char *database, const char *first, const char *second)
{
	size_t first_count, second_count;
	char *a = paper_read(database, first, &first_count);
	char *b = paper_read(database, second, &second_count);
	assert_int_equal(first_count, second_count);
	assert_memory_equal(a, b, first_count);
	free(a);
	free(b);
}

void paper_runs(const char *database)
{
	struct store *store = fixture_open(database, STORE_WRITE);
	int64_t run = fixture_run(store, "north", "pier-A", 1, 0.25, NULL);
	fixture_run(store, "north", "pier-B", 1, 0.5, NULL);
	assert_int_equal(store_begin(store), STORE_OK);
	assert_int_equal(store_fracture_add(store, run, 3, "voids near the top", &fixture_actor,
				 (struct utc_time){INT64_C(1772000900) * CLOCKS_NS_PER_S}),
		STORE_OK);
	assert_int_equal(store_commit(store), STORE_OK);
	store_close(store);
}

void paper_says(const char *database, const char *set, const char *wanted, const char *unwanted)
{
	char line[100];
	snprintf(line, sizeof(line), "report %s", set);
	char *text = paper_text(database, line);
	calls_say(text, wanted);
	if (unwanted && strstr(text, unwanted))
		fail_msg("'%s' is in:\n%s", unwanted, text);
	free(text);
}
