/* SPDX-License-Identifier: MIT */
#include "set_series.h"

#include "commands.h"
#include "stored.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

struct names {
	char names[SET_SERIES_MAX][SPECIMEN_NAME_SIZE];
	size_t count;
	bool too_many;
};

static bool take_name(void *context, const struct set_terms *terms)
{
	struct names *names = context;
	names->too_many = names->count == SET_SERIES_MAX;
	if (!names->too_many)
		memcpy(names->names[names->count++], terms->set, sizeof names->names[0]);
	return !names->too_many;
}

static int by_sampling(const void *a, const void *b)
{
	const struct set_test *const *left = a, *const *right = b;
	int64_t one = (*left)->sampled.ns, other = (*right)->sampled.ns;
	if (one != other)
		return one < other ? -1 : 1;
	return strcmp((*left)->terms.set, (*right)->terms.set);
}

/* Keeps the test where it has a mean. */
static int add(const char *command, struct store *store, const char *set, struct set_series *series)
{
	struct set_test *test = calloc(1, sizeof *test);
	enum store_status status = test ? set_test_load(store, set, test) : STORE_IO;
	if (status == STORE_OK && test->count > 0 && test->method) {
		const char *few = set_test_too_few(test);
		series->tests[series->count++] = test;
		if (few)
			fprintf(stderr, "%s: set %s: %s\n", command, set, few);
		return EXIT_DONE;
	}
	free(test);
	return status == STORE_OK || status == STORE_NONE ? EXIT_DONE
							  : stored_failed(command, store, status);
}

int set_series_load(
	const char *command, struct store *store, const char *name, struct set_series *series)
{
	static struct names names;
	series->name = name;
	series->count = names.count = 0;
	enum store_status status = store_series_each(store, name, take_name, &names);
	if (status != STORE_OK)
		return stored_failed(command, store, status);
	if (names.too_many)
		fprintf(stderr, "%s: only the first %d sets are looked at\n", command,
			SET_SERIES_MAX);
	int code = EXIT_DONE;
	for (size_t i = 0; i < names.count && code == EXIT_DONE; i++)
		code = add(command, store, names.names[i], series);
	if (series->count > 0)
		qsort(series->tests, series->count, sizeof *series->tests, by_sampling);
	return code;
}

void set_series_finish(struct set_series *series)
{
	for (size_t i = 0; i < series->count; i++)
		free(series->tests[i]);
	series->count = 0;
}

/* One series has one rule, one specified strength, one method: else their tests do not compare. */
static bool is_like(const struct set_test *one, const struct set_test *other)
{
	return one->method == other->method && one->terms.rule == other->terms.rule &&
	       one->terms.specified_pa == other->terms.specified_pa &&
	       one->terms.sigma_pa == other->terms.sigma_pa;
}

const struct set_test *set_series_unlike(const struct set_series *series)
{
	for (size_t i = 1; i < series->count; i++) {
		if (!is_like(series->tests[0], series->tests[i]))
			return series->tests[i];
	}
	return NULL;
}

struct acceptance_at set_series_judge(const struct set_series *series, size_t at)
{
	double means[SET_SERIES_MAX];
	const struct acceptance_input input = set_test_input(series->tests[at]);
	for (size_t i = 0; i <= at; i++)
		means[i] = series->tests[i]->companions.strength.mean;
	return acceptance_judge(&input, means, at);
}
