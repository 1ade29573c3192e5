/* SPDX-License-Identifier: MIT */
#include "set_tests.h"

#include "result/fracture.h"

#include <stdlib.h>
#include <string.h>

/* ACI 318-19 26.12.1.1 (read): a strength test is the mean of at least two cylinders of 150 mm or
 * at least three of 100 mm. Between the two sizes lies this. */
static const int64_t small_um = 125000;

struct gather {
	struct set_test *test;
	bool too_many;
};

static bool take_row(void *context, const struct run_row *row)
{
	struct gather *gather = context;
	struct set_test *test = gather->test;
	gather->too_many = test->run_count == SET_RUNS_MAX;
	if (gather->too_many)
		return false;
	test->runs[test->run_count++] = (struct set_run){.run = row->run, .row = *row};
	return true;
}

static bool take_fracture(void *context, const struct fracture_row *fracture)
{
	*(struct fracture_row *)context = *fracture; /* the last one holds */
	return true;
}

/* Another run of the same specimen that counts already. */
static bool is_second(const struct set_test *test, const struct set_run *run)
{
	for (const struct set_run *other = test->runs; other < run; other++) {
		if (!other->without && strcmp(other->specimen.id, run->specimen.id) == 0)
			return true;
	}
	return false;
}

const char set_run_second[] = "loaded again after it broke";

const char *set_run_without(const char *set, const struct run_row *row,
	const struct specimen *specimen, int fracture_type, double strength_pa)
{
	if (!row->closed)
		return "not over yet";
	if (row->voided)
		return "voided";
	if (set[0] && (!specimen || strcmp(specimen->set, set) != 0))
		return "of another set, as corrected";
	if (row->end != END_BROKEN)
		return "not broken";
	if (!(strength_pa > 0))
		return fracture_type ? "no result with this fracture" : "no result";
	return NULL;
}

static enum store_status load_run(struct store *store, struct set_test *test, struct set_run *run)
{
	struct run_row *row = &run->row;
	const struct method *method = method_find(row->method);
	const char *id = row->corrected ? row->specimen_corrected : row->specimen;
	enum store_status status = store_specimen_find(store, id, &run->specimen);
	if (status == STORE_OK)
		status = store_fractures_each(store, run->run, take_fracture, &run->fracture);
	if (status != STORE_OK)
		return status;
	run->strength_pa = row->corrected ? row->strength_corrected_pa : row->strength_pa;
	if (method)
		run->strength_pa = fracture_strength_pa(method, &run->specimen, run->fracture.type,
			run->fracture.crack_um, run->strength_pa);
	run->without = set_run_without(
		test->terms.set, row, &run->specimen, run->fracture.type, run->strength_pa);
	if (!run->without && is_second(test, run))
		run->without = set_run_second;
	return STORE_OK;
}

/* Unrounded strengths, in whatever order. */
static void add_up(struct set_test *test)
{
	double strengths[SET_RUNS_MAX];
	int64_t widths_um = 0;
	test->complete = true;
	for (size_t i = 0; i < test->run_count; i++) {
		const struct set_run *run = &test->runs[i];
		const struct method *method = method_find(run->row.method);
		if (test->sampled.ns == 0 ||
			(run->specimen.cast.ns > 0 && run->specimen.cast.ns < test->sampled.ns))
			test->sampled =
				run->specimen.cast.ns > 0 ? run->specimen.cast : run->row.started;
		if (run->without)
			continue;
		test->method = test->count == 0 || test->method == method ? method : NULL;
		test->complete = test->complete && run->fracture.type != 0;
		widths_um += (run->specimen.width_um[0] + run->specimen.width_um[1]) / 2;
		strengths[test->count++] = run->strength_pa;
	}
	if (test->count == 0)
		return;
	test->width_um = widths_um / (int64_t)test->count;
	if (test->method)
		test->companions = companions_of(
			test->method, test->width_um, test->terms.field, strengths, test->count);
}

enum store_status set_test_load(struct store *store, const char *set, struct set_test *test)
{
	struct gather gather = {.test = test};
	struct run_filter filter = {0};
	memset(test, 0, sizeof(*test));
	enum store_status status = store_terms_find(store, set, &test->terms);
	test->has_terms = status == STORE_OK;
	if (status != STORE_OK && status != STORE_NONE)
		return status;
	strcpy(filter.set, test->terms.set);
	status = store_runs_each(store, &filter, take_row, &gather);
	if (status == STORE_OK && test->run_count == 0)
		return STORE_NONE;
	for (size_t i = 0; i < test->run_count && status == STORE_OK; i++)
		status = load_run(store, test, &test->runs[i]);
	if (status == STORE_OK)
		add_up(test);
	return status;
}

struct acceptance_input set_test_input(const struct set_test *test)
{
	return (struct acceptance_input){test->terms.rule, test->terms.specified_pa,
		test->method && test->method->inch_pound, test->terms.sigma_pa};
}

const char *set_test_too_few(const struct set_test *test)
{
	if (test->terms.rule != ACCEPTANCE_ACI_318 || test->count >= 3)
		return NULL;
	if (test->width_um < small_um)
		return "ACI 318 has at least three cylinders of 100 mm (4 in) make a test";
	return test->count < 2 ? "ACI 318 has at least two cylinders make a test" : NULL;
}
