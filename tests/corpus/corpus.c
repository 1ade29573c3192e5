/* SPDX-License-Identifier: MIT
 *
 * The corpus: draws runs of every kind, lets the judge judge them, and counts how often it is
 * wrong.
 *
 *   corpus [--seed S] [--count N] [--kind NAME] [--most N] [--wrong] [--one INDEX [--csv]]
 *
 * --wrong prints each wrong judgement with its index; --one INDEX prints one judgement, or with
 * --csv its curve, so that it can be looked at and given to `ramplog assess`. Exits 1 when more
 * than --most judgements are wrong. The same seed gives the same runs everywhere.
 */
#include "truth.h"

#include <argp.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { KINDS_MAX = 40 };

struct tally {
	long count;
	long maximum_wrong;
	long end_wrong;
	long verdict_right, verdict_close, verdict_wrong;
	long event_missed, event_false;
	long warnable, warned, warned_soon; /* excursions of 30 % and more; within 2 s, or 5 s */
	long warned_quiet, quiet;           /* runs in band all through */
};

struct job {
	uint64_t seed;
	long count;
	const char *kind;
	bool wrong;
	long one; /* -1: all */
	bool csv;
	long most; /* wrong judgements allowed */
	struct tally tally[KINDS_MAX];
};

struct machine {
	struct judge *judge;
	double warned_s; /* first live warning; 0: none */
	int64_t looked_ns;
	struct record record;
	struct scene scene;
	struct judgement judgement;
};

static void draw(struct machine *machine, const struct job *job, long index, size_t kind)
{
	struct random mix = {job->seed * UINT64_C(0x100000001B3) + (uint64_t)index};
	struct scene *scene = &machine->scene;
	scene_init(scene, random_bits(&mix));
	kinds_table()[kind].draw(scene);
	world_record(&scene->world, &scene->drawing, &scene->random, &machine->record);
	struct plan *plan = &scene->plan;
	double contact = fmax(0.005 * scene->maximum_n, 6 * scene->world.noise_n);
	contact = fmax(contact, 4 * scene->world.step_n);
	contact = fmax(contact, 1.5 * fabs(scene->world.zero_n));
	plan->contact_un = llround(contact * 1e6);
	if (plan->anticipated_load_un == 0)
		plan->alignment_un = llround(0.1 * scene->maximum_n * 1e6);
}

/* What a person would see, twenty times a second. */
static void look_live(struct machine *machine, const struct sample *sample)
{
	double from_s = machine->scene.warned_from_s;
	struct live live;
	if (sample->time.ns - machine->looked_ns < CLOCKS_NS_PER_S / 20)
		return;
	machine->looked_ns = sample->time.ns;
	judge_live(machine->judge, &live);
	double now_s = (double)sample->time.ns * 1e-9;
	if (live.warning && machine->warned_s <= 0 && now_s >= from_s)
		machine->warned_s = now_s;
}

static void judge_scene(struct machine *machine)
{
	machine->warned_s = 0;
	machine->looked_ns = 0;
	judge_start(machine->judge, &machine->scene.plan);
	for (size_t i = 0; i < machine->record.count; i++) {
		if (judge_feed(machine->judge, &machine->record.samples[i]))
			break;
		look_live(machine, &machine->record.samples[i]);
	}
	judge_finish(machine->judge, &machine->judgement);
}

static bool maximum_right(const struct machine *machine)
{
	const struct scene *scene = &machine->scene;
	double off = fabs((double)(machine->judgement.maximum_un - machine->record.largest_un));
	return off * 1e-6 <= scene->world.step_n / 2;
}

static bool end_right(const struct machine *machine)
{
	return machine->scene.either_end || machine->scene.lost ||
	       machine->judgement.end == machine->scene.end;
}

static unsigned events_found(const struct judgement *judgement)
{
	unsigned found = 0;
	for (size_t i = 0; i < judgement->event_count; i++) {
		enum event_kind kind = judgement->events[i].kind;
		if (kind != EVENT_BAND_LEFT && kind != EVENT_BAND_REGAINED)
			found |= 1u << kind;
	}
	return found;
}

static void describe(const struct machine *machine, long index, const char *kind, const char *what,
	const struct truth *truth)
{
	const struct scene *scene = &machine->scene;
	const struct judgement *judgement = &machine->judgement;
	printf("%ld %s: %s; %s %.0f Hz step %.0f noise %.1f hunting %.0f/%.2f ripple %.0f/%.1f "
	       "chunk %d, maximum %.0f kN, rate %.2f kN/s\n",
		index, kind, what, scene->method->name, scene->world.hz, scene->world.step_n,
		scene->world.noise_n, scene->world.hunting_n, scene->world.hunting_hz,
		scene->world.ripple_n, scene->world.ripple_hz, scene->world.chunk,
		scene->maximum_n * 1e-3, scene->rate_n_s * 1e-3);
	printf("  found: end %s, maximum %.3f kN (true %.3f), %s: %s\n", end_text(judgement->end),
		(double)judgement->maximum_un * 1e-9, (double)machine->record.largest_un * 1e-9,
		verdict_text(judgement->rate.verdict), judgement->rate.reason);
	if (truth->judged)
		printf("  truth: excess %.1f errors of %.4f kN/s, span %.2f to %.2f s, window %.2f "
		       "s\n",
			truth->excess_n_s / truth->error_n_s, truth->error_n_s * 1e-3,
			truth->from_s, truth->to_s, truth->window_s);
	for (size_t i = 0; i < judgement->event_count; i++)
		printf("  %s at %.2f s: %s\n", event_kind_text(judgement->events[i].kind),
			(double)judgement->events[i].time.ns * 1e-9, judgement->events[i].text);
}

static void score_warnings(
	const struct machine *machine, struct tally *tally, const struct truth *truth)
{
	const struct scene *scene = &machine->scene;
	if (scene->plan.anticipated_load_un == 0 || !truth->judged)
		return;
	bool warned = machine->warned_s > 0;
	double part = scene->warned_rate;
	if (scene->warned_from_s > 0 && (part >= 1.3 || part <= 0.7) &&
		truth->excess_n_s > 4 * truth->error_n_s) {
		double late_s = machine->warned_s - scene->warned_from_s;
		tally->warnable++;
		tally->warned += warned;
		tally->warned_soon += warned && late_s <= (scene->quiet ? 2 : 5);
	} else if (scene->warned_from_s <= 0 && truth->excess_n_s < 0 && scene->stop_s <= 0 &&
		   scene->world.fault_count == 0 && scene->world.capacity_n <= 0) {
		tally->quiet++;
		tally->warned_quiet += warned;
	}
}

static void score(struct machine *machine, struct job *job, long index, size_t kind)
{
	struct tally *tally = &job->tally[kind];
	const struct scene *scene = &machine->scene;
	const char *name = kinds_table()[kind].name;
	struct truth truth;
	truth_of_rate(scene, machine->judgement.basis, &truth);
	unsigned found = events_found(&machine->judgement);
	bool missed = (scene->must & ~found) != 0;
	bool invented = (found & ~(scene->must | scene->may)) != 0;
	enum mark mark = truth_mark(scene, &truth, machine->judgement.rate.verdict);
	bool maximum = maximum_right(machine), end = end_right(machine);
	tally->count++;
	tally->maximum_wrong += !maximum;
	tally->end_wrong += !end;
	tally->verdict_right += mark == MARK_RIGHT;
	tally->verdict_close += mark == MARK_CLOSE;
	tally->verdict_wrong += mark == MARK_WRONG;
	tally->event_missed += missed;
	tally->event_false += invented;
	score_warnings(machine, tally, &truth);
	if (!job->wrong)
		return;
	char what[256];
	int used = snprintf(what, sizeof what, "%s%s%s", maximum ? "" : " maximum",
		end ? "" : " end", mark == MARK_WRONG ? " verdict" : "");
	for (int k = 0; k <= EVENT_BAND_REGAINED; k++) {
		unsigned bit = 1u << k;
		bool lost = (scene->must & ~found & bit) != 0;
		bool more = (found & ~(scene->must | scene->may) & bit) != 0;
		if (lost || more)
			used += snprintf(what + used, sizeof what - (size_t)used, " %s-%s",
				lost ? "missed" : "false", event_kind_text((enum event_kind)k));
	}
	if (what[0] != '\0' || job->one >= 0)
		describe(machine, index, name, what, &truth);
}

static void write_csv(const struct machine *machine)
{
	puts("time_s,load_n");
	for (size_t i = 0; i < machine->record.count; i++)
		printf("%.9f,%.6f\n", (double)machine->record.samples[i].time.ns * 1e-9,
			(double)machine->record.samples[i].load_un * 1e-6);
}

static void print_row(const char *name, const struct tally *tally)
{
	printf("| %-26s | %7ld | %7ld | %5ld | %7ld | %6ld | %6ld | %6ld | %5ld |\n", name,
		tally->count, tally->maximum_wrong, tally->end_wrong, tally->verdict_right,
		tally->verdict_close, tally->verdict_wrong, tally->event_missed,
		tally->event_false);
}

/* How many judgements were wrong in some way. */
static long print_table(const struct job *job)
{
	struct tally all = {0};
	printf("| kind                       |    runs | maximum |   end | verdict |  close |  "
	       "wrong | missed | false |\n");
	printf("| -------------------------- | ------- | ------- | ----- | ------- | ------ | "
	       "------ | ------ | ----- |\n");
	for (size_t k = 0; kinds_table()[k].name != NULL; k++) {
		const struct tally *tally = &job->tally[k];
		if (tally->count == 0)
			continue;
		print_row(kinds_table()[k].name, tally);
		all.count += tally->count;
		all.maximum_wrong += tally->maximum_wrong;
		all.end_wrong += tally->end_wrong;
		all.verdict_right += tally->verdict_right;
		all.verdict_close += tally->verdict_close;
		all.verdict_wrong += tally->verdict_wrong;
		all.event_missed += tally->event_missed;
		all.event_false += tally->event_false;
		all.warnable += tally->warnable;
		all.warned += tally->warned;
		all.warned_soon += tally->warned_soon;
		all.quiet += tally->quiet;
		all.warned_quiet += tally->warned_quiet;
	}
	print_row("all", &all);
	printf("\nexcursions of 30 %% and more: %ld; warned of %ld, soon (2 s, hunting 5 s) %ld\n"
	       "runs within the band: %ld; warned of %ld\n",
		all.warnable, all.warned, all.warned_soon, all.quiet, all.warned_quiet);
	return all.maximum_wrong + all.end_wrong + all.verdict_wrong + all.event_false;
}

static error_t parse(int key, char *value, struct argp_state *state)
{
	struct job *job = state->input;
	switch (key) {
	case 's':
		job->seed = strtoull(value, NULL, 10);
		return 0;
	case 'n':
		job->count = strtol(value, NULL, 10);
		return 0;
	case 'k':
		job->kind = value;
		return 0;
	case 'w':
		job->wrong = true;
		return 0;
	case 'o':
		job->one = strtol(value, NULL, 10);
		job->wrong = true;
		return 0;
	case 'c':
		job->csv = true;
		return 0;
	case 'm':
		job->most = strtol(value, NULL, 10);
		return 0;
	default:
		return ARGP_ERR_UNKNOWN;
	}
}

static void run(struct machine *machine, struct job *job)
{
	size_t kinds = 0;
	while (kinds_table()[kinds].name != NULL)
		kinds++;
	long first = job->one >= 0 ? job->one : 0;
	long end = job->one >= 0 ? job->one + 1 : job->count;
	for (long i = first; i < end; i++) {
		size_t kind = (size_t)i % kinds;
		if (job->kind != NULL && strcmp(job->kind, kinds_table()[kind].name) != 0)
			continue;
		draw(machine, job, i, kind);
		if (job->csv) {
			write_csv(machine);
			return;
		}
		judge_scene(machine);
		score(machine, job, i, kind);
	}
}

int main(int argc, char **argv)
{
	static const struct argp_option options[] = {
		{"seed", 's', "S", 0, "seed of the corpus (default 1)", 0},
		{"count", 'n', "N", 0, "number of runs (default 520)", 0},
		{"kind", 'k', "NAME", 0, "only runs of this kind", 0},
		{"wrong", 'w', NULL, 0, "print each wrong judgement", 0},
		{"one", 'o', "INDEX", 0, "only this run, judged right or wrong", 0},
		{"csv", 'c', NULL, 0, "with --one: write its curve instead", 0},
		{"most", 'm', "N", 0, "wrong judgements and invented events allowed (default 0)",
			0},
		{0},
	};
	static const struct argp argp = {.options = options, .parser = parse};
	static struct job job = {.seed = 1, .count = 520, .one = -1};
	static struct machine machine;
	if (argp_parse(&argp, argc, argv, 0, NULL, &job) != 0)
		return 2;
	machine.judge = judge_create(WORLD_SAMPLES_MAX);
	machine.record.samples = malloc(WORLD_SAMPLES_MAX * sizeof machine.record.samples[0]);
	if (machine.judge == NULL || machine.record.samples == NULL)
		return 2;
	run(&machine, &job);
	long wrong = job.csv ? 0 : print_table(&job);
	judge_destroy(machine.judge);
	free(machine.record.samples);
	return wrong > job.most;
}
