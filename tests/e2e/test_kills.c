/* SPDX-License-Identifier: MIT
 *
 * The real daemon killed at random moments, again and again, also while it starts: what it leaves
 * is whole and sealed, at most the last batch before each kill is missing, and each loading stays
 * one run. RAMPLOG_KILLS says how often (the check: 8, the slow suite: 100), RAMPLOG_SEED when.
 */
#include "lab.h"

#include "base/clocks.h"

#include "unit/check.h"
#include "unit/random.h"

#include <poll.h>
#include <signal.h>
#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>

enum {
	KILLS = 8,
	KILLS_MAX = 10000,
	LONGEST_MS = 1500, /* between being ready and the kill */
	START_MS = 60,     /* between the start and the kill */
	/* The batch of docs/overview.md; and what a commit takes on a machine that is busy with
	 * other tests. */
	BATCH_MS = 250,
	COMMIT_MS = 250,
	/* Nothing keeps a disk that others use from taking longer: one kill in ten may meet that.
	 */
	STALL_MS = 2000,
};

/* One life of the daemon: when its cell was ready, and when it was killed. */
static struct life {
	int64_t ready_ns, killed_ns;
} lives[KILLS_MAX];

static int number_from(const char *variable, int otherwise)
{
	const char *text = getenv(variable);
	return text ? (int)strtol(text, NULL, 10) : otherwise;
}

/* Every fourth is killed while it starts. The moment is what is tested: this is no wait for
 * anything. */
static void live_and_die(struct lab *lab, struct random *random, struct life *life)
{
	struct harness_process *daemon = lab_try_daemon(lab);
	bool at_start = random_pick(random, 4) == 0;
	if (!at_start)
		harness_expect(daemon, "ready", NULL);
	life->ready_ns = at_start ? INT64_MAX : lab_now_ns();
	poll(NULL, 0, random_pick(random, at_start ? START_MS : LONGEST_MS));
	life->killed_ns = lab_now_ns();
	assert_int_equal(harness_stop(daemon, SIGKILL), 128 + SIGKILL);
}

/* The newest reading before the kill, if it was within a run. */
static int64_t newest_ns(sqlite3_stmt *newest, const struct life *life)
{
	sqlite3_bind_int64(newest, 1, life->killed_ns);
	assert_int_equal(sqlite3_step(newest), SQLITE_ROW);
	bool within = sqlite3_column_type(newest, 0) != SQLITE_NULL;
	int64_t time_ns = within ? sqlite3_column_int64(newest, 0) : life->killed_ns;
	sqlite3_reset(newest);
	return time_ns;
}

/* The longest time before a kill from which nothing is stored although the daemon was ready. */
static int64_t worst_loss_ns(sqlite3 *db, int kills, int *within, int *late)
{
	int64_t worst = 0;
	sqlite3_stmt *newest;
	assert_int_equal(
		sqlite3_exec(db,
			"CREATE TEMP TABLE r AS SELECT run, time_mono_ns AS t FROM reading;"
			"CREATE INDEX temp.r_by_t ON r (t);"
			"CREATE TEMP TABLE span AS SELECT run, min(t) AS first,"
			" max(t) AS last FROM r GROUP BY run",
			NULL, NULL, NULL),
		SQLITE_OK);
	assert_int_equal(sqlite3_prepare_v2(db,
				 "SELECT max(t) FROM r WHERE t <= ?1 AND EXISTS"
				 " (SELECT 1 FROM span WHERE first < ?1 AND last > ?1)",
				 -1, &newest, NULL),
		SQLITE_OK);
	for (int i = 0; i < kills; i++) {
		int64_t from_ns = newest_ns(newest, &lives[i]);
		*within += from_ns != lives[i].killed_ns;
		from_ns = from_ns > lives[i].ready_ns ? from_ns : lives[i].ready_ns;
		int64_t loss = lives[i].killed_ns - from_ns;
		worst = loss > worst ? loss : worst;
		*late += loss > (BATCH_MS + COMMIT_MS) * CLOCKS_NS_PER_MS;
	}
	sqlite3_finalize(newest);
	return worst;
}

static void check_loss(struct lab *lab, int kills)
{
	sqlite3 *db;
	int within = 0, late = 0;
	assert_int_equal(
		sqlite3_open_v2(lab->database, &db, SQLITE_OPEN_READONLY, NULL), SQLITE_OK);
	int64_t worst = worst_loss_ns(db, kills, &within, &late);
	assert_int_equal(sqlite3_close(db), SQLITE_OK);
	print_message("%d kills, %d of them within a run: at most %lld ms before one are missing\n",
		kills, within, (long long)(worst / CLOCKS_NS_PER_MS));
	assert_true(within > 0);
	assert_true(late <= kills / 10 && worst <= STALL_MS * CLOCKS_NS_PER_MS);
}

static void test_killed_at_random(void **state)
{
	struct lab *lab = *state;
	int wanted = number_from("RAMPLOG_KILLS", KILLS), kills = 0;
	struct random random = {(uint64_t)number_from("RAMPLOG_SEED", 1)};
	static const char curves[] = "good,good,good,good,good,good,good,good,good,good,good,good,"
				     "good,good,good,good,good,good,good,good,good,good,good,good";
	size_t loadings = 0;
	assert_true(wanted > 0 && wanted <= KILLS_MAX);
	struct harness_process *press = lab_start_press(
		lab, 0, "--curve", curves, "--strength-mpa", "4", "--hz", "100", NULL);
	while (kills < wanted) {
		harness_tell(press, "go");
		loadings++;
		while (kills < wanted && !harness_sees(press, 0, "ends"))
			live_and_die(lab, &random, &lives[kills++]);
	}
	struct harness_process *daemon = lab_start_daemon(lab);
	harness_expect(daemon, "ready", NULL);
	json_t *runs = lab_json(lab, "runs", NULL);
	print_message("%zu loadings, %zu runs\n", loadings, json_array_size(runs));
	assert_true(json_array_size(runs) <= loadings);
	json_decref(runs);
	assert_int_equal(harness_stop(daemon, SIGTERM), 0);
	lab_must(lab, 0, "audit", NULL);
	check_loss(lab, kills);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test_setup_teardown(test_killed_at_random, lab_set_up, lab_tear_down),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
