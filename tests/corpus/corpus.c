/* SPDX-License-Identifier: MIT
 *
 * The corpus: draws runs of every kind, lets the judge judge them, and counts how often it is
 * wrong. The same seed gives the same runs everywhere; run i is the same whatever the slice.
 *
 * With --save a slice's counts are added to a file, and with --show the tables are made of such
 * files: 100 000 runs in slices, one after the other or side by side.
 */
#include "effect.h"
#include "examples.h"
#include "real.h"
#include "score.h"

#include <argp.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { CHANGES_MAX = 8 };

struct job {
	uint64_t seed;
	long first, count;
	const char *kind;
	const char *example;
	bool wrong, again, effects, real;
	long one; /* -1: all */
	bool csv;
	long most;     /* wrong runs allowed; -1: any number */
	double hz_max; /* runs of more readings a second are left out; 0: none is */
	const char *save;
	char **files;                     /* counts to make tables of, or with real: curves */
	const char *changes[CHANGES_MAX]; /* NAME=VALUE */
	size_t change_count;
	struct tallies tallies;
	struct effect *effect;
};

static bool change_policy(struct policy *policy, const char *change)
{
	const char *equals = strchr(change, '=');
	if (equals == NULL)
		return false;
	for (const struct policy_entry *entry = policy_table(); entry->name != NULL; entry++) {
		if (strlen(entry->name) != (size_t)(equals - change) ||
			strncmp(entry->name, change, strlen(entry->name)) != 0)
			continue;
		char *end;
		double value = strtod(equals + 1, &end);
		memcpy((char *)policy + entry->offset, &value, sizeof value);
		return *end == '\0' && end > equals + 1;
	}
	return false;
}

/* False if the run is to be left out. */
static bool draw(struct machine *machine, const struct job *job, long index, size_t kind)
{
	struct random mix = {job->seed * UINT64_C(0x100000001B3) + (uint64_t)index};
	struct scene *scene = &machine->scene;
	scene_init(scene, random_bits(&mix));
	kinds_table()[kind].draw(scene);
	if (job->hz_max > 0 && scene->world.hz > job->hz_max)
		return false;
	world_record(&scene->world, &scene->drawing, &scene->random, &machine->record);
	scene_contact(scene);
	machine->random.state = random_bits(&mix);
	return true;
}

static void judge(struct machine *machine, struct job *job, long index, size_t kind)
{
	for (size_t i = 0; i < job->change_count; i++)
		change_policy(&machine->scene.plan.policy, job->changes[i]);
	if (job->effects) {
		effect_run(job->effect, machine);
		return;
	}
	static struct score score;
	struct message why;
	machine_judge(machine);
	score_run(machine, &score);
	if (job->again && !machine_judge_again(machine, &why)) {
		score.tally.again_wrong = 1;
		printf("%ld judged again: %s\n", index, why.text);
	}
	tally_add(&job->tallies.kind[kind], &score.tally);
	if ((job->wrong && score.what[0] != '\0') || job->one >= 0)
		score_describe(machine, &score, index, kinds_table()[kind].name);
}

static void write_csv(const struct machine *machine)
{
	puts("time_s,load_n");
	for (size_t i = 0; i < machine->record.count; i++)
		printf("%.9f,%.6f\n", (double)machine->record.samples[i].time.ns * 1e-9,
			(double)machine->record.samples[i].load_un * 1e-6);
}

static bool write_example(struct machine *machine, const char *name)
{
	struct scene *scene = &machine->scene;
	if (!examples_draw(scene, name)) {
		fprintf(stderr, "corpus: there is no example \"%s\"\n", name);
		return false;
	}
	world_record(&scene->world, &scene->drawing, &scene->random, &machine->record);
	write_csv(machine);
	return true;
}

static void run(struct machine *machine, struct job *job)
{
	long first = job->one >= 0 ? job->one : job->first;
	long end = job->one >= 0 ? job->one + 1 : job->first + job->count;
	for (long i = first; i < end; i++) {
		size_t kind = (size_t)i % kinds_count();
		if (job->kind != NULL && strcmp(job->kind, kinds_table()[kind].name) != 0)
			continue;
		if (!draw(machine, job, i, kind))
			continue;
		if (job->csv)
			write_csv(machine);
		else
			judge(machine, job, i, kind);
	}
}

static bool run_real(struct machine *machine, struct job *job)
{
	struct message why;
	for (long i = 0; job->files[i] != NULL; i++) {
		if (!real_load(machine, job->files[i], &why)) {
			fprintf(stderr, "corpus: %s\n", why.text);
			return false;
		}
		judge(machine, job, i, kinds_count());
	}
	return true;
}

static bool save(const struct job *job)
{
	FILE *file = fopen(job->save, "a");
	if (file == NULL)
		return false;
	if (job->effects)
		effect_write(file, job->effect);
	for (size_t k = 0; !job->effects && k <= kinds_count(); k++)
		tally_write(file, kinds_table()[k].name, &job->tallies.kind[k]);
	return fclose(file) == 0;
}

static bool load(struct job *job)
{
	for (char **name = job->files; *name != NULL; name++) {
		FILE *file = fopen(*name, "r");
		bool good = file != NULL && (job->effects ? effect_read(file, job->effect)
							  : tally_read(file, &job->tallies));
		if (file != NULL)
			fclose(file);
		if (!good) {
			fprintf(stderr, "corpus: %s holds no counts of a corpus\n", *name);
			return false;
		}
	}
	return true;
}

enum { KEY_FIRST = 256, KEY_AGAIN, KEY_EFFECTS, KEY_SAVE, KEY_EXAMPLE, KEY_REAL, KEY_HZ };

static const struct argp_option options[] = {
	{"seed", 's', "S", 0, "seed of the corpus (default 1)", 0},
	{"first", KEY_FIRST, "INDEX", 0, "first run of the slice (default 0)", 0},
	{"count", 'n', "N", 0, "number of runs (default 510)", 0},
	{"kind", 'k', "NAME", 0, "only runs of this kind", 0},
	{"hz", KEY_HZ, "MOST", 0,
		"leave out runs of more readings a second: 200 for five times the runs an hour", 0},
	{"policy", 'p', "NAME=VALUE", 0, "judge by another threshold; again for several", 0},
	{"halve-double", KEY_EFFECTS, NULL, 0,
		"measure what halving and doubling each threshold changes", 0},
	{"again", KEY_AGAIN, NULL, 0,
		"judge each run again, in chunks and from a database: it must come out the same",
		0},
	{"wrong", 'w', NULL, 0, "print each wrong judgement", 0},
	{"one", 'o', "INDEX", 0, "only this run, judged right or wrong", 0},
	{"csv", 'c', NULL, 0, "with --one: write its curve instead", 0},
	{"example", KEY_EXAMPLE, "NAME", 0, "write the curve of a typical run for the documents",
		0},
	{"real", KEY_REAL, NULL, 0, "judge the real crushing tests that the FILEs are", 0},
	{"save", KEY_SAVE, "FILE", 0, "add the counts to a file instead of showing tables", 0},
	{"most", 'm', "N", 0, "exit with 1 if more runs than this are wrong", 0},
	{0},
};

static error_t parse(int key, char *value, struct argp_state *state)
{
	struct job *job = state->input;
	struct policy policy;
	switch (key) {
	case 's':
		job->seed = strtoull(value, NULL, 10);
		break;
	case KEY_FIRST:
		job->first = strtol(value, NULL, 10);
		break;
	case 'n':
		job->count = strtol(value, NULL, 10);
		break;
	case 'k':
		job->kind = value;
		break;
	case KEY_HZ:
		job->hz_max = strtod(value, NULL);
		break;
	case 'p':
		if (job->change_count == CHANGES_MAX || !change_policy(&policy, value))
			argp_error(state, "--policy %s: no such threshold or no number", value);
		job->changes[job->change_count++] = value;
		break;
	case KEY_EFFECTS:
		job->effects = true;
		break;
	case KEY_AGAIN:
		job->again = true;
		break;
	case 'w':
		job->wrong = true;
		break;
	case 'o':
		job->one = strtol(value, NULL, 10);
		break;
	case 'c':
		job->csv = true;
		break;
	case KEY_EXAMPLE:
		job->example = value;
		break;
	case KEY_REAL:
		job->real = true;
		break;
	case KEY_SAVE:
		job->save = value;
		break;
	case 'm':
		job->most = strtol(value, NULL, 10);
		break;
	case ARGP_KEY_ARGS:
		job->files = state->argv + state->next;
		break;
	default:
		return ARGP_ERR_UNKNOWN;
	}
	return 0;
}

static int finish(struct job *job)
{
	int64_t wrong = 0;
	for (size_t k = 0; k <= kinds_count(); k++)
		wrong += tally_wrong(&job->tallies.kind[k]);
	if (job->save != NULL)
		return save(job) ? 0 : 2;
	if (job->effects)
		effect_show(job->effect);
	else if (!job->csv && job->one < 0)
		tally_show(&job->tallies);
	if (job->most >= 0)
		printf("\nwrong: %lld, allowed: %ld\n", (long long)wrong, job->most);
	return job->most >= 0 && wrong > job->most;
}

int main(int argc, char **argv)
{
	static const struct argp argp = {options, parse, "[FILE...]",
		"Runs drawn at random, judged, and compared with what is true of them.\v"
		"With FILEs that --save wrote: the tables of all of them together. With --real and "
		"FILEs of "
		"real crushing tests: those instead of runs drawn.",
		NULL, NULL, NULL};
	static struct job job = {.seed = 1, .count = 510, .one = -1, .most = -1};
	static struct machine machine;
	if (argp_parse(&argp, argc, argv, 0, NULL, &job) != 0)
		return 2;
	job.effect = effect_create();
	if (!machine_init(&machine) || job.effect == NULL)
		return 2;
	bool good = true;
	if (job.real && job.files != NULL)
		good = run_real(&machine, &job);
	else if (job.files != NULL)
		good = load(&job);
	else if (job.example != NULL)
		return write_example(&machine, job.example) ? 0 : 2;
	else
		run(&machine, &job);
	int status = good ? finish(&job) : 2;
	machine_finish(&machine);
	effect_destroy(job.effect);
	return status;
}
