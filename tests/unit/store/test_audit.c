/* SPDX-License-Identifier: MIT
 *
 * Replay gives what was judged live, the audit derives each run again and names the field that is
 * not what it was; damage anywhere in the file is found or without effect.
 */
#include "store/audit.h"
#include "store/replay.h"
#include "unit/check.h"
#include "unit/store/fixture.h"
#include "unit/store/forge.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static void assert_intact(const char *path, size_t runs)
{
	static struct forge_findings findings;
	struct audit_summary summary;

	forge_audit(path, &findings, &summary);
	forge_print(&findings);
	assert_int_equal(findings.count, 0);
	assert_int_equal(summary.difference_count, 0);
	assert_int_equal(summary.run_count, runs);
	assert_true(summary.sample_count > runs * 500);
}

static void test_untouched_is_intact(void **state)
{
	assert_intact(*state, 3);
}

static void test_replay_gives_the_samples(void **state)
{
	struct store *store = fixture_open(*state, STORE_READ);
	struct run_record record;
	struct replay replay;

	assert_int_equal(store_run_load(store, 2, &record), STORE_OK);
	assert_int_equal(replay_run(store, &record, &replay), STORE_OK);
	assert_int_equal(replay.reading_count, record.row.reading_count);
	assert_true(replay.sample_count > 0 && replay.sample_count <= replay.reading_count / 2);
	int64_t maximum = 0;
	for (size_t i = 0; i < replay.sample_count; i++) {
		if (replay.samples[i].load_un > maximum)
			maximum = replay.samples[i].load_un;
	}
	assert_int_equal(maximum, record.outcome.judgement.maximum_un);
	replay_finish(&replay);
	record.start.method[0] = '?';
	record.start.judged_by = NULL;
	assert_int_equal(replay_run(store, &record, &replay), STORE_REFUSED);
	store_close(store);
}

static void test_an_unclosed_run_is_no_difference(void **state)
{
	static struct forge_findings findings;
	struct audit_summary summary;
	struct store *store = fixture_open(*state, STORE_WRITE);
	int64_t run = fixture_run_unclosed(store, "north");

	store_close(store);
	forge_audit(*state, &findings, &summary);
	assert_int_equal(findings.count, 1);
	assert_int_equal(findings.list[0].kind, AUDIT_UNCLOSED);
	assert_int_equal(findings.list[0].run, run);
	assert_int_equal(summary.difference_count, 0);
	assert_int_equal(summary.unclosed_count, 1);
	assert_int_equal(summary.run_count, 3);
}

static void test_named_runs_and_stopping(void **state)
{
	static struct forge_findings findings;
	struct audit_summary summary;
	const int64_t runs[] = {3, 17};
	struct store *store = fixture_open(*state, STORE_READ);

	assert_int_equal(
		audit_runs(store, runs, 2, forge_keep, NULL, &findings, &summary), STORE_OK);
	assert_int_equal(summary.run_count, 1);
	assert_int_equal(findings.count, 1);
	assert_int_equal(findings.list[0].kind, AUDIT_MISSING);
	assert_int_equal(findings.list[0].run, 17);
	findings.stop_at = 2;
	assert_int_equal(
		audit_runs(store, NULL, 0, forge_keep, forge_keep_going, &findings, &summary),
		STORE_OK);
	assert_int_equal(findings.done, 2);
	assert_int_equal(summary.run_count, 2);
	store_close(store);
}

static void test_the_field_is_named(void **state)
{
	static struct forge_findings findings;

	forge_tamper(*state, "UPDATE run_outcome SET strength_pa = strength_pa + 1 WHERE run = 2",
		&findings);
	assert_int_equal(findings.count, 2);
	forge_assert_names(&findings, 2, "strength_pa");
	forge_assert_names(&findings, 2, "run_outcome");

	forge_tamper(*state, "UPDATE run_rate SET verdict = 'in_band' WHERE run = 2 AND other = 0",
		&findings);
	forge_assert_names(&findings, 2, "rate.verdict");
	forge_assert_names(&findings, 2, "run_rate");

	forge_tamper(
		*state, "UPDATE run_event SET load_un = 1 WHERE run = 2 AND seq = 0", &findings);
	forge_assert_names(&findings, 2, "event[0].load_un");

	forge_tamper(*state, "UPDATE run_cell SET factor_mantissa = 2 WHERE run = 3", &findings);
	forge_assert_names(&findings, 3, "maximum_un");
	forge_assert_names(&findings, 3, "run_cell");

	forge_tamper(*state,
		"UPDATE policy_value SET value = value * 2 WHERE name = 'decline_fraction'",
		&findings);
	forge_assert_names(&findings, 1, "policy");
	forge_assert_names(&findings, 3, "policy");
}

/* Bytes of the file itself, anywhere: found, or without effect; never a crash. */
static void test_damaged_files(void **state)
{
	static struct forge_findings findings;
	struct audit_summary summary;
	char copy[FORGE_PATH_SIZE];
	uint64_t random = getenv("STORE_SEED") ? strtoull(getenv("STORE_SEED"), NULL, 0) : 1;
	size_t found = 0;

	for (int round = 0; round < 60; round++) {
		struct message why;
		struct store *store;
		forge_copy(*state, copy);
		FILE *file = fopen(copy, "r+b");
		assert_non_null(file);
		fseek(file, 0, SEEK_END);
		long size = ftell(file);
		for (int byte = 0; byte < 20; byte++) {
			random = random * 6364136223846793005 + 1442695040888963407;
			fseek(file, (long)((random >> 33) % (uint64_t)size), SEEK_SET);
			fputc((int)(random >> 25) & 0xff, file);
		}
		fclose(file);
		memset(&findings, 0, sizeof(findings));
		if (store_open(&store, copy, STORE_READ, &why) != STORE_OK) {
			found++;
			continue;
		}
		enum store_status status =
			audit_runs(store, NULL, 0, forge_keep, NULL, &findings, &summary);
		found += status != STORE_OK || findings.count > 0;
		store_close(store);
	}
	print_message("%zu of 60 damaged files were found\n", found);
	assert_true(found > 40);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		FORGE_TEST(test_untouched_is_intact),
		FORGE_TEST(test_replay_gives_the_samples),
		FORGE_TEST(test_an_unclosed_run_is_no_difference),
		FORGE_TEST(test_named_runs_and_stopping),
		FORGE_TEST(test_the_field_is_named),
		FORGE_TEST(test_damaged_files),
	};

	return cmocka_run_group_tests_name("audit", tests, forge_write_master, fixture_teardown);
}
