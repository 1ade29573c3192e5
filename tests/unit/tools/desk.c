/* SPDX-License-Identifier: MIT
 *
 * What a laboratory has and enters, for tests of what comes of it.
 */
#include "desk.h"

#include "../check.h"
#include "../store/fixture.h"
#include "calls.h"
#include "paper.h"

#include <stdio.h>
#include <string.h>

void desk_run(const char *path)
{
	struct store *store = fixture_open(path, STORE_WRITE);
	fixture_run(store, "north", "A-1", 1, 0.25, NULL);
	store_close(store);
}

int desk_register(const char *database, const char *text, const char *options)
{
	char line[500];
	const char *path = paper_beside(database, "day.csv");
	FILE *file = fopen(path, "w");
	assert_non_null(file);
	fputs(text, file);
	assert_int_equal(fclose(file), 0);
	snprintf(line, sizeof(line), "register --csv %s%s", path, options);
	return calls_run(database, line);
}

struct specimen desk_find(const char *database, const char *id, struct detail *detail)
{
	struct specimen specimen;
	struct store *store = fixture_open(database, STORE_READ);
	assert_int_equal(store_specimen_find(store, id, &specimen), STORE_OK);
	store_detail_find(store, id, detail);
	store_close(store);
	return specimen;
}

void desk_narrow(const char *text)
{
	for (const char *line = text; *line; line += strcspn(line, "\n") + 1) {
		size_t width = 0;
		for (const char *c = line; *c && *c != '\n'; c++)
			width += ((unsigned char)*c & 0xc0) != 0x80;
		if (width > 80)
			fail_msg("wider than 80: %.120s", line);
	}
}
