/* SPDX-License-Identifier: MIT
 *
 * The one table; see methods.h for why it may be one. The built-in files come first, at the first
 * question; a file of ours that cannot be read is a bug of ours.
 */
#include "result/methods.h"

#include "result/method_files.h"

#include <assert.h>
#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { SOURCE_SIZE = 256 };

struct entry {
	struct method method;
	char source[SOURCE_SIZE];
	struct entry *other; /* what it replaced; or the next one that was recorded */
	char text[];         /* of one that is not built in */
};

static struct {
	struct entry *entries[METHODS_MAX]; /* by name */
	size_t count;
	struct entry *built_in[METHODS_MAX];
	size_t built_in_count;
	_Atomic(struct entry *) recorded; /* texts of stored runs that are not in force */
	bool begun;
} table;

static void put(struct entry *entry)
{
	size_t at = 0;
	while (at < table.count && strcmp(table.entries[at]->method.name, entry->method.name) < 0)
		at++;
	bool same =
		at < table.count && strcmp(table.entries[at]->method.name, entry->method.name) == 0;
	if (!same) {
		memmove(table.entries + at + 1, table.entries + at,
			(table.count - at) * sizeof table.entries[0]);
		table.count++;
	} else {
		entry->other = table.entries[at];
	}
	table.entries[at] = entry;
}

static void complain_of_own(void *context, const char *text)
{
	(void)context;
	fprintf(stderr, "%s\n", text);
}

static void begin(void)
{
	if (table.begun)
		return;
	table.begun = true;
	for (const struct method_file *file = method_files; file->name; file++) {
		struct entry *entry = calloc(1, sizeof *entry);
		assert(entry && table.built_in_count < METHODS_MAX);
		bool good = method_read(
			file->text, file->size, file->name, &entry->method, complain_of_own, NULL);
		assert(good);
		table.built_in[table.built_in_count++] = entry;
		put(entry);
	}
}

/* Reads a text, which it keeps a copy of. NULL: complain was told why. */
static struct entry *read_entry(
	const char *text, size_t size, const char *source, method_complain *complain, void *context)
{
	struct entry *entry = calloc(1, sizeof *entry + size + 1);
	assert(entry);
	memcpy(entry->text, text, size);
	if (!method_read(entry->text, size, source, &entry->method, complain, context)) {
		free(entry);
		return NULL;
	}
	return entry;
}

bool methods_add(
	const char *text, size_t size, const char *source, method_complain *complain, void *context)
{
	begin();
	struct entry *entry = read_entry(text, size, source, complain, context);
	if (!entry)
		return false;
	if (table.count == METHODS_MAX && !method_find(entry->method.name)) {
		char buffer[MESSAGE_SIZE];
		snprintf(buffer, sizeof buffer, "%s: more than %d methods", source, METHODS_MAX);
		complain(context, buffer);
		free(entry);
		return false;
	}
	snprintf(entry->source, sizeof entry->source, "%s", source);
	put(entry);
	return true;
}

const struct method *method_find(const char *name)
{
	begin();
	for (size_t i = 0; i < table.count; i++) {
		if (strcmp(table.entries[i]->method.name, name) == 0)
			return &table.entries[i]->method;
	}
	return NULL;
}

const struct method *methods_built_in(const char *name)
{
	begin();
	for (size_t i = 0; i < table.built_in_count; i++) {
		if (strcmp(table.built_in[i]->method.name, name) == 0)
			return &table.built_in[i]->method;
	}
	return NULL;
}

static void complain_to_nobody(void *context, const char *text)
{
	(void)context;
	(void)text;
}

/* Among the entries from `from` on, up to `to`, which is none of them. */
static struct entry *find_recorded(
	struct entry *from, const struct entry *to, const char *name, const char *text)
{
	while (from != to &&
		(strcmp(from->method.name, name) != 0 || strcmp(from->method.text, text) != 0))
		from = from->other;
	return from == to ? NULL : from;
}

const struct method *methods_recorded(const char *name, const char *text)
{
	const struct method *now = method_find(name);
	char source[SPECIMEN_METHOD_SIZE + 8];

	if (now && strcmp(now->text, text) == 0)
		return now;
	struct entry *newest = atomic_load(&table.recorded);
	struct entry *found = find_recorded(newest, NULL, name, text);
	if (found)
		return &found->method;
	snprintf(source, sizeof source, "%s.ini", name);
	struct entry *entry = read_entry(text, strlen(text), source, complain_to_nobody, NULL);
	if (!entry)
		return NULL;
	entry->other = newest;
	while (!atomic_compare_exchange_weak(&table.recorded, &newest, entry)) {
		/* Others were recorded meanwhile, it may be this one. */
		found = find_recorded(newest, entry->other, name, text);
		if (found) {
			free(entry);
			return &found->method;
		}
		entry->other = newest;
	}
	return &entry->method;
}

size_t methods_count(void)
{
	begin();
	return table.count;
}

const struct method *methods_at(size_t index)
{
	begin();
	assert(index < table.count);
	return &table.entries[index]->method;
}

const char *methods_source(const struct method *method)
{
	return ((const struct entry *)method)->source;
}
