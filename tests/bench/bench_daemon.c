/* SPDX-License-Identifier: MIT
 *
 * The daemon beside the floor, in one sitting: latency, processor time, memory, many channels, many
 * clients, a burst, a port at its line's rate, the start, the idle daemon, memory over many runs.
 * Pairs are taken in turn, and medians of their ratios printed: the machine's mood is in both.
 *
 *	bench-daemon [REPETITIONS [SECONDS [PART]]]
 *
 * Ends with a table of the goals: what is asked, what was measured, whether it is met.
 *
 * RAMPLOG_FLAT_MINUTES and RAMPLOG_FLAT_HZ: how long memory is watched (1), with how many lines a
 * second (1000).
 */
#include "bed.h"
#include "stopwatch.h"

#include <poll.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { REPETITIONS_MAX = 99 };

static int repetitions = STOPWATCH_REPETITIONS, seconds = 2;

/* ---- the goals */

static struct {
	const char *name;
	double most, figure;
} goals[32];
static size_t goal_count;

/* A figure that is to be no more than `most`. */
static void goal(const char *name, double most, double figure)
{
	goals[goal_count].name = name;
	goals[goal_count].most = most;
	goals[goal_count++].figure = figure;
}

/* One that is to be no less. */
static void goal_least(const char *name, double least, double figure)
{
	goal(name, -least, -figure);
}

static void print_goals(void)
{
	puts("\ngoal                                                       bound   measured");
	for (size_t i = 0; i < goal_count; i++) {
		bool least = goals[i].most < 0;
		printf("%-52s %s %8.6g %10.4g  %s\n", goals[i].name,
			least ? ">=" : "<=", least ? -goals[i].most : goals[i].most,
			least ? -goals[i].figure : goals[i].figure,
			goals[i].figure <= goals[i].most ? "met" : "NOT MET");
	}
}

struct figures {
	double p50_us, p99_us, cpu_ms; /* per 1000 samples */
	double accept_ms, first_ms;
	double rss_kib, pss_kib;
	double lost;
};

static void must_feed(struct bed *bed, uint32_t count, double hz)
{
	if (bed_feed(bed, count, hz))
		return;
	fprintf(stderr, "bench: samples never came out; see %s\n", bed->folder);
	exit(1);
}

static void measure(enum bed_program program, size_t channels, double hz, struct figures *figures)
{
	static struct bed bed;
	bed_start(&bed, program, channels, NULL);
	must_feed(&bed, 1500, 1000); /* contact, and a moment to settle */
	double cpu_ns = bed_cpu_ns(&bed);
	uint32_t count = (uint32_t)(seconds * hz);
	must_feed(&bed, count, hz);
	*figures = (struct figures){
		.p50_us = bed_latency_us(0.5),
		.p99_us = bed_latency_us(0.99),
		.cpu_ms = (bed_cpu_ns(&bed) - cpu_ns) * 1e-6 / count * 1000,
		.accept_ms = bed.accept_ms,
		.first_ms = bed.first_ms,
		.rss_kib = (double)bed_memory_kib(&bed, "Rss"),
		.pss_kib = (double)bed_memory_kib(&bed, "Pss"),
	};
	bed_stop(&bed);
	for (size_t i = 0; program == BED_DAEMON && i < channels; i++)
		figures->lost += (double)bed_lost(&bed, i);
	bed_remove(&bed);
}

/* ---- tables of repetitions */

static double column(const struct figures *rows, size_t offset)
{
	double values[REPETITIONS_MAX];
	for (int i = 0; i < repetitions; i++)
		values[i] = *(const double *)((const char *)&rows[i] + offset);
	return stopwatch_median(values, (size_t)repetitions);
}

static double ratio(const struct figures *ours, const struct figures *floor, size_t offset)
{
	double values[REPETITIONS_MAX];
	for (int i = 0; i < repetitions; i++)
		values[i] = *(const double *)((const char *)&ours[i] + offset) /
			    *(const double *)((const char *)&floor[i] + offset);
	return stopwatch_median(values, (size_t)repetitions);
}

#define COLUMN(rows, member) column(rows, offsetof(struct figures, member))
#define RATIO(ours, floor, member) ratio(ours, floor, offsetof(struct figures, member))
#define BESIDE(name, format, ours, floor, member) \
	printf("%-34s " format "   floor " format "   ratio %.2f\n", name, COLUMN(ours, member), \
		COLUMN(floor, member), RATIO(ours, floor, member))

static void bench_beside_the_floor(void)
{
	static struct figures ours[REPETITIONS_MAX], floor[REPETITIONS_MAX];
	for (int i = 0; i < repetitions; i++) {
		measure(BED_DAEMON, 1, 1000, &ours[i]);
		measure(BED_FLOOR, 1, 1000, &floor[i]);
	}
	printf("1 kHz, one client, %d pairs of %d s\n", repetitions, seconds);
	BESIDE("latency p50, us", "%7.0f", ours, floor, p50_us);
	BESIDE("latency p99, us", "%7.0f", ours, floor, p99_us);
	BESIDE("processor, ms per 1000 samples", "%7.1f", ours, floor, cpu_ms);
	BESIDE("start to accept, ms", "%7.1f", ours, floor, accept_ms);
	BESIDE("start to first sample, ms", "%7.1f", ours, floor, first_ms);
	BESIDE("resident, KiB", "%7.0f", ours, floor, rss_kib);
	BESIDE("resident, its share, KiB", "%7.0f", ours, floor, pss_kib);
	printf("%-34s %7.0f\n", "lost", COLUMN(ours, lost));
	goal("3 processor, ratio to the floor", 1.15, RATIO(ours, floor, cpu_ms));
	goal("4 latency p50, ratio to the floor", 1.2, RATIO(ours, floor, p50_us));
	goal("4 latency p99, ratio to the floor", 2, RATIO(ours, floor, p99_us));
	goal("9 start to accept, ms", 20, COLUMN(ours, accept_ms));
	goal("9 start to first sample, ms", 30, COLUMN(ours, first_ms));
	goal("11 resident, KiB", 6 * 1024, COLUMN(ours, rss_kib));
	goal("11 its share, KiB", 3.5 * 1024, COLUMN(ours, pss_kib));
}

static void bench_storing(void)
{
	static struct figures with[REPETITIONS_MAX], without[REPETITIONS_MAX];
	for (int i = 0; i < repetitions; i++) {
		measure(BED_DAEMON, 1, 5000, &with[i]);
		measure(BED_UNSTORED, 1, 5000, &without[i]);
	}
	printf("5 kHz, judged and stored, beside idle and unstored: p99 %.0f us beside %.0f, ratio "
	       "%.2f; p50 ratio %.2f\n",
		COLUMN(with, p99_us), COLUMN(without, p99_us), RATIO(with, without, p99_us),
		RATIO(with, without, p50_us));
	goal("5 p99 at 5 kHz, stored to unstored", 1.5, RATIO(with, without, p99_us));
}

static void bench_channels(void)
{
	struct figures one, many;
	measure(BED_DAEMON, 1, 1000, &one);
	measure(BED_DAEMON, 17, 1000, &many);
	printf("17 channels of 1 kHz: %.0f lost, %.0f KiB for each further channel, %.0f %% of a "
	       "core, p50 %.2f ms\n",
		many.lost, (many.rss_kib - one.rss_kib) / 16, many.cpu_ms / 10, many.p50_us * 1e-3);
	goal("11 each further channel, KiB", 150, (many.rss_kib - one.rss_kib) / 16);
	measure(BED_DAEMON, 32, 1000, &many);
	printf("32 channels of 1 kHz: %.0f lost, %.0f %% of a core, p50 %.2f ms\n", many.lost,
		many.cpu_ms / 10, many.p50_us * 1e-3);
	goal("6 lost of 32 x 1 kHz", 0, many.lost);
	goal("6 32 x 1 kHz, per cent of a core", 50, many.cpu_ms / 10);
	goal("6 32 x 1 kHz, p50, ms", 0.6, many.p50_us * 1e-3);
}

static double burst(enum bed_program program, uint32_t lines)
{
	static struct bed bed;
	bed_start(&bed, program, 1, NULL);
	must_feed(&bed, 1500, 1000);
	must_feed(&bed, lines, 0);
	double per_s = lines / bed_feed_s();
	bed_stop(&bed);
	bed_remove(&bed);
	return per_s;
}

static void bench_burst(void)
{
	enum { BURSTS = 3 };
	double ours[BURSTS], floor[BURSTS];
	for (int i = 0; i < BURSTS; i++) {
		ours[i] = burst(BED_DAEMON, 200000);
		floor[i] = burst(BED_FLOOR, 200000);
	}
	goal_least("7 burst, lines/s", 60000, stopwatch_median(ours, BURSTS));
	printf("burst of 200000 lines, published and stored: %.0f lines/s, floor %.0f\n",
		stopwatch_median(ours, BURSTS), stopwatch_median(floor, BURSTS));
}

/* p50 of the first of so many clients; the daemon serves it last. */
static double first_client_us(size_t clients, bool stuck)
{
	static struct bed bed;
	bed_start(&bed, BED_DAEMON, 1, NULL);
	bed_connect(&bed, clients - 1, false);
	bed_connect(&bed, stuck, true);
	must_feed(&bed, 1500, 1000);
	must_feed(&bed, (uint32_t)seconds * 1000, 1000);
	double p50_us = bed_latency_us(0.5);
	bed_stop(&bed);
	bed_remove(&bed);
	return p50_us;
}

static void bench_clients(void)
{
	double one[REPETITIONS_MAX], many[REPETITIONS_MAX], stuck[REPETITIONS_MAX];
	for (int i = 0; i < repetitions; i++) {
		one[i] = first_client_us(1, false);
		many[i] = first_client_us(16, false);
		stuck[i] = first_client_us(1, true);
		many[i] /= one[i];
		stuck[i] /= one[i];
	}
	printf("16 clients: p50 of the last served is %.2f times that of one; one beside a stuck "
	       "client: %.2f times\n",
		stopwatch_median(many, (size_t)repetitions),
		stopwatch_median(stuck, (size_t)repetitions));
	goal("8 16 clients, p50, ratio to one", 2, stopwatch_median(many, (size_t)repetitions));
	goal("8 beside a stuck client, p50, ratio", 1.2,
		stopwatch_median(stuck, (size_t)repetitions));
}

/* What 921600 baud carry of lines of 14 bytes, ten bits each. */
static const double LINE_RATE_HZ = 921600.0 / 10 / 14;

static void bench_line_rate(void)
{
	int asked = repetitions;
	repetitions = asked < 3 ? asked : 3;
	static struct figures ours[REPETITIONS_MAX], floor[REPETITIONS_MAX];
	for (int i = 0; i < repetitions; i++) {
		measure(BED_DAEMON, 1, LINE_RATE_HZ, &ours[i]);
		measure(BED_FLOOR, 1, LINE_RATE_HZ, &floor[i]);
	}
	printf("one port at its line's rate, 921600 baud, %.0f lines/s: %.0f lost, %.0f %% of a "
	       "core, ratio to the floor %.2f; p50 %.0f us, ratio %.2f\n",
		LINE_RATE_HZ, COLUMN(ours, lost), COLUMN(ours, cpu_ms) * LINE_RATE_HZ * 1e-4,
		RATIO(ours, floor, cpu_ms), COLUMN(ours, p50_us), RATIO(ours, floor, p50_us));
	repetitions = asked;
}

/* ---- memory over many runs */

/* The long run is one of 226 s at 1 kHz, told faster. */
enum { FLAT_RUN_S = 20, FLAT_SETTLED_RUNS = 2, FLAT_LONG_LINES = 226000, FLAT_LONG_HZ = 5000 };

static double number_from(const char *variable, double otherwise)
{
	const char *text = getenv(variable);
	double number = text ? strtod(text, NULL) : otherwise;
	return number > 0 ? number : otherwise;
}

static void bench_flat(void)
{
	static struct bed bed;
	double minutes = number_from("RAMPLOG_FLAT_MINUTES", 1);
	double hz = number_from("RAMPLOG_FLAT_HZ", 1000);
	double begun_ns = stopwatch_ns();
	long first = 0, least = 0, most = 0, now = 0;
	double told_min = 0, passed_min = 0;
	bed_start(&bed, BED_DAEMON, 1, NULL);
	must_feed(&bed, 1500, 1000);
	must_feed(&bed, FLAT_LONG_LINES, FLAT_LONG_HZ);
	now = bed_memory_kib(&bed, "Rss");
	bed_release(&bed, 1000);
	printf("memory at the end of a run of %d samples: %ld KiB\n", FLAT_LONG_LINES, now);
	goal("11 resident at the end of a run of 226 s, KiB", 6 * 1024, (double)now);
	for (int run = 0; passed_min < minutes || run <= FLAT_SETTLED_RUNS; run++) {
		must_feed(&bed, (uint32_t)(FLAT_RUN_S * hz), hz);
		bed_release(&bed, hz);
		now = bed_memory_kib(&bed, "Rss");
		if (run <= FLAT_SETTLED_RUNS)
			first = least = most = now;
		least = now < least ? now : least;
		most = now > most ? now : most;
		passed_min = (stopwatch_ns() - begun_ns) / 60e9;
		if (passed_min < told_min + 5)
			continue;
		told_min = passed_min;
		printf("  %.0f min, %d runs: %ld KiB\n", passed_min, run + 1, now);
	}
	printf("memory over %.1f min of runs of %d s at %.0f Hz: %ld KiB at first, %ld to %ld, "
	       "%ld at last\n",
		passed_min, FLAT_RUN_S, hz, first, least, most, now);
	goal("11 memory over many runs, most less least, KiB", 512, (double)(most - least));
	bed_stop(&bed);
	bed_remove(&bed);
}

static void bench_idle(void)
{
	static struct bed bed;
	bed_start(&bed, BED_UNSTORED, 1, NULL);
	poll(NULL, 0, 3000); /* until the cell is known to be silent */
	long before = bed_wakeups(&bed);
	poll(NULL, 0, 5000);
	long woken = bed_wakeups(&bed) - before;
	printf("idle, nothing sent: %ld wake-ups in 5 s\n", woken);
	goal("10 wake-ups in 5 s when idle", 0, (double)woken);
	bed_stop(&bed);
	bed_remove(&bed);
}

static const struct {
	const char *name;
	void (*run)(void);
} parts[] = {
	{"floor", bench_beside_the_floor},
	{"storing", bench_storing},
	{"channels", bench_channels},
	{"burst", bench_burst},
	{"line", bench_line_rate},
	{"clients", bench_clients},
	{"idle", bench_idle},
	{"flat", bench_flat},
};

int main(int argc, char **argv)
{
	if (argc > 1)
		repetitions = (int)strtol(argv[1], NULL, 10);
	if (argc > 2)
		seconds = (int)strtol(argv[2], NULL, 10);
	if (repetitions < 1 || repetitions > REPETITIONS_MAX || seconds < 1 || seconds > 60)
		return 2;
	setvbuf(stdout, NULL, _IOLBF, 0);
	for (size_t i = 0; i < sizeof parts / sizeof *parts; i++)
		if (argc < 4 || strcmp(argv[3], parts[i].name) == 0)
			parts[i].run();
	print_goals();
	return 0;
}
