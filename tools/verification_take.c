/* SPDX-License-Identifier: MIT
 *
 * A verification taken with the press at hand: a person applies forces and types what the reference
 * device reads, the program averages what the daemon reads meanwhile. Nothing is stored before all
 * of it was shown and agreed to; at any prompt the end of input ends it without a trace.
 */
#include "verification.h"

#include "client.h"
#include "commands.h"
#include "now.h"
#include "wire/live.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Long against a pump's ripple and a regulator's hunting, short enough to hold a load by hand. */
static const int64_t AVERAGE_NS = 2 * CLOCKS_NS_PER_S;
enum { SAMPLES_LEAST = 10, TYPED_SIZE = 80 };
/* A load that moves by more than this part of itself meanwhile was not held. */
static const double MOVED_MOST = 0.003;
/* The same for the unloaded press, of its capacity. */
static const double ZERO_MOVED_MOST = 0.0002;
/* An error so large is more likely a slip of the finger; kept where it is asked for. */
static const double SLIP_PERCENT = 10;
/* So far, as a part of it, may a force of run 2 lie from that of run 1. */
static const double APART_MOST = 0.1;

struct average {
	int64_t count;
	double sum_un, early_sum_un; /* early: of the first half of the time */
	int64_t early_count;
	int64_t least_un, most_un;
};

struct taking {
	struct writing *writing;
	struct verification *verification;
	int64_t zero_un;
	int64_t increment_un;
};

static int64_t monotonic_ns(void)
{
	struct timespec time;
	clock_gettime(CLOCK_MONOTONIC, &time);
	return time.tv_sec * CLOCKS_NS_PER_S + time.tv_nsec;
}

/* ---- asking */

/* One line without its end and the blanks around it. False: the input has ended. */
static bool ask(const char *question, char *typed)
{
	fputs(question, stdout);
	fflush(stdout);
	if (!fgets(typed, TYPED_SIZE, stdin)) {
		putchar('\n');
		return false;
	}
	size_t length = strlen(typed), blank = strspn(typed, " \t");
	if (length > 0 && typed[length - 1] != '\n')
		for (int rest = getchar(); rest != '\n' && rest != EOF;)
			rest = getchar();
	while (length > blank && strchr(" \t\r\n", typed[length - 1]))
		length--;
	memmove(typed, typed + blank, length - blank);
	typed[length - blank] = '\0';
	return true;
}

/* ---- reading the press */

static void add_sample(struct average *average, int64_t load_un, bool early)
{
	average->least_un =
		average->count && average->least_un < load_un ? average->least_un : load_un;
	average->most_un =
		average->count && average->most_un > load_un ? average->most_un : load_un;
	average->count++;
	average->sum_un += (double)load_un;
	if (early) {
		average->early_count++;
		average->early_sum_un += (double)load_un;
	}
}

static bool take_line(struct average *average, const char *line, size_t length, bool early)
{
	struct live_line live;
	if (!live_read(line, length, &live, NULL))
		return false;
	if (live.kind == LIVE_SAMPLE)
		add_sample(average, live.sample.load_un, early);
	live_line_finish(&live);
	return true;
}

static bool collect(struct client_watch *watch, struct average *average, struct message *why)
{
	int64_t begin_ns = monotonic_ns(), gone_ns = 0;
	*average = (struct average){.count = 0};
	while (gone_ns < AVERAGE_NS) {
		const char *line = NULL;
		size_t length = 0;
		if (!client_watch_line(watch, &line, &length, why))
			return false;
		gone_ns = monotonic_ns() - begin_ns;
		if (!take_line(average, line, length, gone_ns < AVERAGE_NS / 2))
			return message_set(why, "the daemon sent a line that is none");
	}
	return average->count >= SAMPLES_LEAST && average->early_count > 0 &&
			       average->early_count < average->count
		       ? true
		       : message_set(why, "the press sends too few readings to average");
}

static bool read_press(const struct taking *taking, struct average *average)
{
	const struct writing *writing = taking->writing;
	struct client_watch *watch = malloc(sizeof(*watch));
	struct message why = {"not enough memory"};
	fputs("  averaging for 2 s: hold the load\n", stdout);
	fflush(stdout);
	bool done =
		watch && client_watch_open(watch, writing->socket, writing->request.press, &why);
	if (done) {
		done = collect(watch, average, &why);
		client_watch_close(watch);
	}
	free(watch);
	if (!done)
		fprintf(stderr, "%s: %s\n", writing->command, why.text);
	return done;
}

static int64_t mean_un(const struct average *average)
{
	return llround(average->sum_un / (double)average->count);
}

/* From the first half of the time to the second. */
static double moved_un(const struct average *average)
{
	double early = average->early_sum_un / (double)average->early_count;
	double late = (average->sum_un - average->early_sum_un) /
		      (double)(average->count - average->early_count);
	return fabs(late - early);
}

static double kilonewton(int64_t load_un)
{
	return (double)load_un * 1e-9;
}

/* ---- the steps */

static bool take_zero(const struct taking *taking, const char *question, struct average *average)
{
	char typed[TYPED_SIZE];
	double most_un = (double)taking->verification->capacity_un * ZERO_MOVED_MOST;
	while (ask(question, typed) && read_press(taking, average)) {
		if (moved_un(average) <= most_un) {
			printf("  the unloaded press reads %.3f kN\n",
				kilonewton(mean_un(average)));
			return true;
		}
		printf("  the load moved by %.3f kN meanwhile: once again\n",
			moved_un(average) * 1e-9);
	}
	return false;
}

enum compared { COMPARED, COMPARED_SLIP, COMPARED_MOVED, COMPARED_FAILED };

/* What the press reads while the reference reads true_un. */
static enum compared compare(const struct taking *taking, int64_t true_un, int64_t *indicated_un)
{
	struct average average;
	if (!read_press(taking, &average))
		return COMPARED_FAILED;
	*indicated_un = mean_un(&average);
	if (moved_un(&average) > MOVED_MOST * (double)llabs(true_un)) {
		printf("  the load moved by %.3f kN meanwhile: hold it, and type it again\n",
			moved_un(&average) * 1e-9);
		return COMPARED_MOVED;
	}
	double error = verification_error_percent(*indicated_un, true_un);
	printf("  the press reads %.3f kN, error %+.2f %%\n", kilonewton(*indicated_un), error);
	if (fabs(error) <= SLIP_PERCENT)
		return COMPARED;
	puts("  so large an error is more likely a slip: type the load again, or `keep` if it is "
	     "what the press does");
	return COMPARED_SLIP;
}

/* Whether it can be that force of that run; if not, says why. */
static bool fits(
	const struct verification *verification, size_t run, size_t number, int64_t true_un)
{
	const struct verification_force *force = &verification->forces[number];
	if (run == 0 && number > 0 && true_un <= force[-1].true_un[0]) {
		printf("  the force before it was %.10g kN, and they rise: type it again, or "
		       "`back` "
		       "for that one\n",
			kilonewton(force[-1].true_un[0]));
		return false;
	}
	double apart_un = run > 0 ? fabs((double)(true_un - force->true_un[0])) : 0;
	if (apart_un <= APART_MOST * (double)force->true_un[0])
		return true;
	printf("  run 1 had %.10g kN here: apply about the same, and type it again\n",
		kilonewton(force->true_un[0]));
	return false;
}

enum step { STEP_TAKEN, STEP_BACK, STEP_NO_MORE, STEP_ENDED };

static enum step take_force(const struct taking *taking, size_t run, size_t number)
{
	struct verification_force *force = &taking->verification->forces[number];
	char question[160], typed[TYPED_SIZE];
	bool may_keep = false;
	if (run == 0)
		snprintf(question, sizeof(question),
			"run 1, force %zu: apply it, hold it, type what the reference reads in kN "
			"(empty: no more; back: the last one again)\n> ",
			number + 1);
	else
		snprintf(question, sizeof(question),
			"run 2, force %zu: about %.10g kN again; what does the reference read? "
			"(back: the last one again)\n> ",
			number + 1, kilonewton(force->true_un[0]));
	for (;;) {
		if (!ask(question, typed))
			return STEP_ENDED;
		if (!typed[0] && run == 0)
			return STEP_NO_MORE;
		if (strcmp(typed, "back") == 0)
			return STEP_BACK;
		if (may_keep && strcmp(typed, "keep") == 0)
			return STEP_TAKEN;
		int64_t true_un = 0;
		may_keep = false;
		if (!verification_parse_load(typed, &true_un) || true_un <= 0) {
			printf("  '%s' is no load above zero\n", typed);
			continue;
		}
		if (!fits(taking->verification, run, number, true_un))
			continue;
		force->true_un[run] = true_un;
		enum compared compared = compare(taking, true_un, &force->indicated_un[run]);
		if (compared == COMPARED || compared == COMPARED_FAILED)
			return compared == COMPARED ? STEP_TAKEN : STEP_ENDED;
		may_keep = compared == COMPARED_SLIP;
	}
}

/* False: it ended before its end. */
static bool take_run(const struct taking *taking, size_t run)
{
	struct verification *verification = taking->verification;
	size_t most = run == 0 ? VERIFICATION_FORCES_MAX : verification->force_count;
	size_t number = 0;
	struct average average;
	while (number < most) {
		enum step step = take_force(taking, run, number);
		if (step == STEP_ENDED)
			return false;
		if (step == STEP_TAKEN || step == STEP_BACK) {
			number += step == STEP_TAKEN;
			number -= step == STEP_BACK && number > 0;
			continue;
		}
		if (number >= VERIFICATION_FORCES_LEAST)
			break;
		printf("  at least %d forces are needed\n", VERIFICATION_FORCES_LEAST);
	}
	verification->force_count = number;
	if (!take_zero(taking, "release the load wholly, then press Enter\n> ", &average))
		return false;
	verification->return_un[run] = mean_un(&average) - taking->zero_un;
	return true;
}

static bool begin(struct taking *taking)
{
	struct verification *verification = taking->verification;
	struct average average;
	printf("Verification of %s against %s.\nAt least %d forces, rising, in about equal steps,"
	       " in two runs. The end of input (Ctrl-D) ends it, and nothing is stored.\n",
		taking->writing->request.press, verification->reference, VERIFICATION_FORCES_LEAST);
	if (!take_zero(taking, "unload the press, then press Enter\n> ", &average))
		return false;
	taking->zero_un = mean_un(&average);
	verification->resolution_un = verification_resolution_un(
		verification->increment_un, average.most_un - average.least_un);
	printf("  it flutters by %.3f kN: resolution %.10g kN, no load below %.10g kN can be "
	       "verified\n",
		kilonewton(average.most_un - average.least_un),
		kilonewton(verification->resolution_un),
		kilonewton(verification_floor_un(verification)));
	return true;
}

/* The capacity, which decides on the range, is the daemon's to tell. */
static bool find_capacity(const struct writing *writing, int64_t *capacity_un)
{
	const struct request request = {.ask = REQUEST_STATUS};
	struct message why;
	json_t *answer = NULL;
	if (client_ask(writing->socket, &request, &answer, &why) != CLIENT_DONE) {
		fprintf(stderr, "%s: %s\n", writing->command, why.text);
		return false;
	}
	const json_t *list = json_object_get(answer, "presses");
	struct status_press status;
	*capacity_un = 0;
	for (size_t i = 0; i < json_array_size(list) && !*capacity_un; i++) {
		if (status_press_read(json_array_get(list, i), &status, NULL) &&
			strcmp(status.name, writing->request.press) == 0)
			*capacity_un = status.capacity_un;
	}
	json_decref(answer);
	if (!*capacity_un)
		fprintf(stderr, "%s: the daemon has no press %s\n", writing->command,
			writing->request.press);
	return *capacity_un > 0;
}

int verification_take(struct writing *writing)
{
	struct verification *verification = &writing->request.verification;
	struct taking taking = {.writing = writing, .verification = verification};
	char typed[TYPED_SIZE];
	if (!find_capacity(writing, &verification->capacity_un))
		return EXIT_CANNOT;
	verification->guided = true;
	bool done = begin(&taking);
	for (size_t run = 0; run < VERIFICATION_RUNS && done; run++)
		done = take_run(&taking, run);
	if (done) {
		verification->verified = now();
		verification_judge(verification);
		verification_print(verification);
		done = ask("store it? (yes)\n> ", typed) && strcmp(typed, "yes") == 0;
	}
	if (!done)
		fprintf(stderr, "%s: ended; nothing is stored\n", writing->command);
	return done ? EXIT_DONE : EXIT_CANNOT;
}
