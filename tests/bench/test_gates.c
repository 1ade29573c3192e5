/* SPDX-License-Identifier: MIT
 *
 * What must hold on every machine, however busy: counts of what the daemon does for each sample,
 * what it loses, what it takes when idle, with ample room where time comes in. The figures that
 * depend on the machine are reported by bench_daemon.c.
 */
#include "bed.h"

#include "stopwatch.h"
#include "unit/check.h"

#include <poll.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/* Samples at the beginning that are not counted: contact, the first commits. */
enum { SETTLED = 1500 };

#ifdef SANITIZED /* by the build */
static const bool sanitized = true;
#else
static const bool sanitized = false;
#endif

static struct bed bed;

static void feed(uint32_t count, double hz)
{
	if (!bed_feed(&bed, count, hz))
		fail_msg("samples never came out; see %s", bed.folder);
}

static void end(void)
{
	bed_stop(&bed);
	for (size_t i = 0; i < bed.channel_count && bed.program == BED_DAEMON; i++)
		assert_int_equal(bed_lost(&bed, i), 0);
	bed_remove(&bed);
}

static bool runs(const char *command)
{
	return system(command) == 0;
}

/* ---- system calls */

static char trace[] = "/tmp/ramplog-trace-XXXXXX";

struct calls {
	long all, syncs, syncs_in_loop;
};

static struct calls read_trace(void)
{
	struct calls calls = {0};
	char line[512];
	FILE *file = fopen(trace, "re");
	assert_non_null(file);
	while (fgets(line, sizeof line, file) != NULL) {
		bool sync = strstr(line, " fsync(") != NULL || strstr(line, " fdatasync(") != NULL;
		if (strstr(line, " resumed>") != NULL)
			continue;
		calls.all++;
		calls.syncs += sync;
		calls.syncs_in_loop += sync && strtol(line, NULL, 10) == (long)bed.process;
	}
	fclose(file);
	return calls;
}

static void test_system_calls(void **state)
{
	const char *const wrapper[] = {"strace", "-f", "-o", trace, NULL};
	const uint32_t count = 3000;
	(void)state;
	int made = mkstemp(trace);
	assert_true(made >= 0 && close(made) == 0);
	if (sanitized || !runs("strace -o /dev/null true 2>/dev/null")) {
		print_message("skipped: no strace here, or a sanitizer's own calls\n");
		unlink(trace);
		skip();
	}
	bed_start(&bed, BED_DAEMON, 1, wrapper);
	feed(SETTLED, 1000);
	struct calls before = read_trace();
	feed(count, 1000);
	struct calls after = read_trace();
	end();
	unlink(trace);
	/* A busy machine lets lines pile up: fewer reads, never more. */
	double each = (double)(after.all - before.all) / count;
	print_message("%.2f system calls a sample, %ld syncs, %ld of them in the loop\n", each,
		after.syncs - before.syncs, after.syncs_in_loop - before.syncs_in_loop);
	assert_true(each > 0.5 && each <= 3.5);
	assert_true(after.syncs > before.syncs);
	assert_int_equal(after.syncs_in_loop, before.syncs_in_loop);
}

/* ---- instructions */

/* Instructions of a whole life with so many samples. */
static double live_through(uint32_t count)
{
	char file[] = "/tmp/ramplog-callgrind-XXXXXX", option[64], line[256];
	const char *const wrapper[] = {"valgrind", "-q", "--tool=callgrind", option, NULL};
	double instructions = 0;
	int made = mkstemp(file);
	assert_true(made >= 0 && close(made) == 0);
	snprintf(option, sizeof option, "--callgrind-out-file=%s", file);
	bed_start(&bed, BED_DAEMON, 1, wrapper);
	feed(count, 500);
	end();
	FILE *out = fopen(file, "re");
	assert_non_null(out);
	while (fgets(line, sizeof line, out) != NULL)
		if (strncmp(line, "totals:", 7) == 0)
			instructions = strtod(line + 7, NULL);
	fclose(out);
	unlink(file);
	return instructions;
}

static void test_instructions(void **state)
{
	(void)state;
	/* Debian 12's valgrind gives up on what its clang writes for debuggers. */
	if (sanitized || !runs("valgrind --tool=none \"$RAMPLOGD\" --version >/dev/null 2>&1")) {
		print_message("skipped: no valgrind that runs this, or a sanitizer's own "
			      "instructions\n");
		skip();
	}
	double few = live_through(SETTLED), many = live_through(SETTLED + 3000);
	double each = (many - few) / 3000;
	print_message("%.0f user instructions a sample\n", each);
	assert_true(each > 1000 && each <= 16000);
}

/* ---- loss, memory, the idle daemon, the start */

static void test_sixteen_channels_lose_nothing(void **state)
{
	(void)state;
	bed_start(&bed, BED_DAEMON, 1, NULL);
	feed(4000, 1000);
	long one_kib = bed_memory_kib(&bed, "Rss");
	end();
	bed_start(&bed, BED_DAEMON, 16, NULL);
	feed(4000, 1000);
	long all_kib = bed_memory_kib(&bed, "Rss");
	end();
	long each_kib = (all_kib - one_kib) / 15;
	print_message("%ld KiB; for each further channel %ld\n", one_kib, each_kib);
	if (sanitized)
		return;
	assert_true(one_kib > 1000 && one_kib <= 8 * 1024);
	assert_true(each_kib <= 150);
}

/* 921600 baud full of lines of 14 bytes, ten bits each, without a pause between them. */
static void test_port_at_its_line_rate(void **state)
{
	const double hz = 921600.0 / 10 / 14;
	(void)state;
	bed_start(&bed, BED_DAEMON, 1, NULL);
	feed(SETTLED, 1000);
	feed((uint32_t)(3 * hz), hz);
	print_message("%.0f lines a second asked for, %.0f sent\n", hz, 3 * hz / bed_feed_s());
	end();
}

static void test_idle_daemon_sleeps(void **state)
{
	(void)state;
	bed_start(&bed, BED_UNSTORED, 1, NULL);
	poll(NULL, 0, 3000); /* until the cell is known to be silent */
	long before = bed_wakeups(&bed);
	poll(NULL, 0, 3000);
	assert_int_equal(bed_wakeups(&bed), before);
	end();
}

static void test_start(void **state)
{
	double accept_ms[5], first_ms[5];
	(void)state;
	for (size_t i = 0; i < 5; i++) {
		bed_start(&bed, BED_DAEMON, 1, NULL);
		accept_ms[i] = bed.accept_ms;
		first_ms[i] = bed.first_ms;
		bed_stop(&bed);
		bed_remove(&bed);
	}
	double accept = stopwatch_median(accept_ms, 5), first = stopwatch_median(first_ms, 5);
	double least = first;
	for (size_t i = 0; i < 5; i++)
		least = first_ms[i] < least ? first_ms[i] : least;
	print_message("accepts after %.0f ms, first sample after %.0f ms, at best %.0f\n", accept,
		first, least);
	/* A busy machine makes a start slower, never faster. */
	assert_true(sanitized || least <= 100);
}

static void test_burst(void **state)
{
	const uint32_t lines = 100000;
	(void)state;
	bed_start(&bed, BED_DAEMON, 1, NULL);
	feed(SETTLED, 1000);
	feed(lines, 0);
	double per_s = lines / bed_feed_s();
	end();
	print_message("%.0f lines a second\n", per_s);
	assert_true(sanitized || per_s >= 20000);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_system_calls),
		cmocka_unit_test(test_instructions),
		cmocka_unit_test(test_sixteen_channels_lose_nothing),
		cmocka_unit_test(test_port_at_its_line_rate),
		cmocka_unit_test(test_idle_daemon_sleeps),
		cmocka_unit_test(test_start),
		cmocka_unit_test(test_burst),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
