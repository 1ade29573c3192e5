/* SPDX-License-Identifier: MIT
 *
 * Counts per threshold and factor, beside those of the policy as it is.
 */
#include "effect.h"

#include "score.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { ENTRIES_MAX = 128, FACTORS = 2, MEASURES = 8, LINE_SIZE = 200 };

static const double factors[FACTORS] = {0.5, 2};

/* What is looked at, in the order in which it matters. */
static const char *const measures[MEASURES] = {"maximum", "end", "false alarms", "misses",
	"undetermined", "events missed", "events invented", "false warnings"};

struct counts {
	int64_t measure[MEASURES];
	int64_t late_ds; /* of all excursions, in tenths of a second; never: 30 s */
	int64_t excursions;
};

struct effect {
	int64_t runs;
	struct counts base;
	struct counts changed[ENTRIES_MAX][FACTORS];
};

struct effect *effect_create(void)
{
	return calloc(1, sizeof(struct effect));
}

void effect_destroy(struct effect *effect)
{
	free(effect);
}

static void count(struct machine *machine, struct counts *counts)
{
	static struct score score;
	machine_judge(machine);
	score_run(machine, &score);
	const struct tally *tally = &score.tally;
	const int64_t now[MEASURES] = {tally->maximum_wrong, tally->end_wrong, tally->verdict_alarm,
		tally->verdict_miss, tally->verdict_refuge + tally->verdict_hesitant,
		tally->event_missed + tally->reason_wrong, tally->event_false, tally->good_warned};
	for (size_t i = 0; i < MEASURES; i++)
		counts->measure[i] += now[i];
	const int64_t *late = &tally->late[0][0][0];
	for (size_t i = 0; i < sizeof tally->late / sizeof *late; i++) {
		counts->excursions += late[i];
		counts->late_ds += late[i] * (int64_t)(i % TALLY_BINS);
	}
}

void effect_run(struct effect *effect, struct machine *machine)
{
	struct policy *policy = &machine->scene.plan.policy;
	count(machine, &effect->base);
	effect->runs++;
	for (size_t i = 0; policy_table()[i].name != NULL; i++) {
		assert(i < ENTRIES_MAX);
		double *value = (double *)(void *)((char *)policy + policy_table()[i].offset);
		double usual = *value;
		for (size_t k = 0; k < FACTORS; k++) {
			*value = usual * factors[k];
			count(machine, &effect->changed[i][k]);
		}
		*value = usual;
	}
}

static void write_counts(FILE *file, const char *name, size_t factor, const struct counts *counts)
{
	fprintf(file, "%s\t%zu", name, factor);
	for (size_t i = 0; i < MEASURES; i++)
		fprintf(file, "\t%lld", (long long)counts->measure[i]);
	fprintf(file, "\t%lld\t%lld\n", (long long)counts->late_ds, (long long)counts->excursions);
}

void effect_write(FILE *file, const struct effect *effect)
{
	struct counts runs = {.measure = {effect->runs}};
	write_counts(file, "runs", 0, &runs);
	write_counts(file, "base", 0, &effect->base);
	for (size_t i = 0; policy_table()[i].name != NULL; i++) {
		for (size_t k = 0; k < FACTORS; k++)
			write_counts(file, policy_table()[i].name, k, &effect->changed[i][k]);
	}
}

static struct counts *counts_named(struct effect *effect, const char *name, size_t factor)
{
	if (strcmp(name, "base") == 0)
		return &effect->base;
	for (size_t i = 0; policy_table()[i].name != NULL; i++) {
		if (factor < FACTORS && strcmp(policy_table()[i].name, name) == 0)
			return &effect->changed[i][factor];
	}
	return NULL;
}

bool effect_read(FILE *file, struct effect *effect)
{
	char line[LINE_SIZE];
	while (fgets(line, sizeof line, file) != NULL) {
		char *rest = strchr(line, '\t');
		if (rest == NULL)
			return false;
		*rest++ = '\0';
		size_t factor = strtoul(rest, &rest, 10);
		int64_t numbers[MEASURES + 2];
		for (size_t i = 0; i < MEASURES + 2; i++)
			numbers[i] = strtoll(rest, &rest, 10);
		if (strcmp(line, "runs") == 0) {
			effect->runs += numbers[0];
			continue;
		}
		struct counts *counts = counts_named(effect, line, factor);
		if (counts == NULL)
			return false;
		for (size_t i = 0; i < MEASURES; i++)
			counts->measure[i] += numbers[i];
		counts->late_ds += numbers[MEASURES];
		counts->excursions += numbers[MEASURES + 1];
	}
	return true;
}

static void show_change(const struct counts *base, const struct counts *changed)
{
	const char *comma = "";
	if (base->excursions > 0 && changed->excursions == 0) { /* younger than the counts */
		printf(" not measured |");
		return;
	}
	for (size_t i = 0; i < MEASURES; i++) {
		int64_t more = changed->measure[i] - base->measure[i];
		if (more == 0)
			continue;
		printf("%s %s %+lld", comma, measures[i], (long long)more);
		comma = ",";
	}
	double excursions = fmax(1, (double)base->excursions);
	double later_s = (double)(changed->late_ds - base->late_ds) * TALLY_BIN_S / excursions;
	if (fabs(later_s) >= 0.05) {
		printf("%s announced %.1f s %s", comma, fabs(later_s),
			later_s > 0 ? "later" : "sooner");
		comma = ",";
	}
	printf(*comma == '\0' ? " nothing |" : " |");
}

void effect_show(const struct effect *effect)
{
	printf("Of %lld runs, with the values in force:", (long long)effect->runs);
	for (size_t i = 0; i < MEASURES; i++)
		printf("%s %s %lld", i > 0 ? "," : "", measures[i],
			(long long)effect->base.measure[i]);
	puts(".\n\n| threshold | value | unit | reason | halved | doubled |\n"
	     "| --- | ---: | --- | --- | --- | --- |");
	for (size_t i = 0; policy_table()[i].name != NULL; i++) {
		const struct policy_entry *entry = &policy_table()[i];
		printf("| `%s` | %.6g | %s | %s |", entry->name, entry->value, entry->unit,
			entry->reason);
		for (size_t k = 0; k < FACTORS; k++)
			show_change(&effect->base, &effect->changed[i][k]);
		putchar('\n');
	}
}
