/* SPDX-License-Identifier: MIT
 *
 * A cell of 1000 lines per second with a monitor attached, for as many seconds as the argument
 * says: every line is stored, in order; what it costs is printed.
 *
 * The ramp is straight and finely resolved, so that each line differs from its neighbours by what
 * the ramp gains in a millisecond: a lost, doubled or swapped line would show as another step.
 */
#include "exported.h"
#include "lab.h"

#include "base/units.h"
#include "unit/check.h"

#include <inttypes.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static int seconds = 5;

/* The least that must be seen of the ramp: from the contact load on. */
static const double from_newton = 500;

static double cpu_seconds(pid_t pid)
{
	char path[64];
	unsigned long user = 0, system = 0;
	snprintf(path, sizeof path, "/proc/%d/stat", pid);
	FILE *file = fopen(path, "re");
	assert_non_null(file);
	int got = fscanf(file, "%*d (%*[^)]) %*c %*d %*d %*d %*d %*d %*u %*u %*u %*u %*u %lu %lu",
		&user, &system);
	fclose(file);
	assert_int_equal(got, 2);
	return (double)(user + system) / (double)sysconf(_SC_CLK_TCK);
}

static long resident_kb(pid_t pid)
{
	char path[64], line[256];
	long kb = 0;
	snprintf(path, sizeof path, "/proc/%d/status", pid);
	FILE *file = fopen(path, "re");
	assert_non_null(file);
	while (fgets(line, sizeof line, file) != NULL)
		if (sscanf(line, "VmRSS: %ld", &kb) == 1)
			break;
	fclose(file);
	return kb;
}

static void check_steps(const struct curve *curve, double step_newton)
{
	size_t steps = 0, top = 0;
	for (size_t i = 0; i < curve->count; i++)
		if (curve->samples[i].load_un > curve->samples[top].load_un)
			top = i;
	for (size_t i = 1; i <= top; i++) {
		const struct sample *before = &curve->samples[i - 1], *after = &curve->samples[i];
		double load = (double)before->load_un / (double)UNITS_UN_PER_N;
		assert_true(after->time.ns >= before->time.ns);
		if (load < from_newton || i == top)
			continue;
		check_near((double)(after->load_un - before->load_un) / (double)UNITS_UN_PER_N,
			step_newton, 0.11);
		steps++;
	}
	print_message("%zu lines stored without a gap\n", steps);
	assert_true(steps > (size_t)seconds * 1000 - 1000);
}

static void test_every_line_is_stored(void **state)
{
	struct lab *lab = *state;
	struct curve curve;
	char strength[32];
	const double rate_mpa_s = 0.25, area_mm2 = acos(-1) / 4 * 100 * 100;
	snprintf(strength, sizeof strength, "%.6f", rate_mpa_s * seconds);
	struct harness_process *press = lab_start_press(lab, 0, "--curve", "steady", "--hz", "1000",
		"--strength-mpa", strength, "--noise-n", "0", "--decimals", "4", NULL);
	struct harness_process *daemon = lab_start_daemon(lab);
	lab_start_monitor(lab);
	harness_expect(daemon, "ready", NULL);

	double cpu_before = cpu_seconds(harness_pid(daemon));
	harness_tell(press, "go");
	harness_expect_within(press, seconds + HARNESS_PATIENCE_S, "ends");
	double cpu = cpu_seconds(harness_pid(daemon)) - cpu_before;
	long kb = resident_kb(harness_pid(daemon));
	harness_expect(daemon, "run 1", "broken", NULL);

	exported_run(lab, "1", &curve);
	check_steps(&curve, rate_mpa_s * area_mm2 / 1000);
	curve_finish(&curve);
	lab_must(lab, 0, "audit", NULL);
	assert_int_equal(harness_stop(daemon, SIGTERM), 0);
	print_message("1 kHz for %d s: %.1f %% of one processor, %ld KiB resident\n", seconds,
		100 * cpu / seconds, kb);
}

int main(int argc, char **argv)
{
	if (argc > 1)
		seconds = (int)strtol(argv[1], NULL, 10);
	const struct CMUnitTest tests[] = {cmocka_unit_test_setup_teardown(
		test_every_line_is_stored, lab_set_up, lab_tear_down)};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
