/* SPDX-License-Identifier: MIT
 *
 * What was counted, as tables in Markdown.
 */
#include "tally.h"

#include <math.h>

static const char *const presses[TALLY_PRESSES] = {"quiet", "hunting", "ripple"};

static double per_thousand(int64_t count, int64_t of)
{
	return of > 0 ? 1000.0 * (double)count / (double)of : 0;
}

static void put(int64_t count, int64_t of)
{
	if (count == 0)
		printf(" 0 |");
	else
		printf(" %.2f |", per_thousand(count, of));
}

static void show_row(const char *name, const struct tally *tally)
{
	printf("| %s | %lld |", name, (long long)tally->runs);
	put(tally->maximum_wrong + tally->time_wrong, tally->runs);
	put(tally->end_wrong, tally->runs);
	put(tally->verdict_alarm, tally->runs);
	put(tally->verdict_miss, tally->runs);
	put(tally->verdict_refuge, tally->runs);
	put(tally->verdict_hesitant, tally->runs);
	put(tally->verdict_close, tally->runs);
	put(tally->other_wrong, tally->runs);
	put(tally->event_missed + tally->reason_wrong, tally->runs);
	put(tally->event_false, tally->runs);
	putchar('\n');
}

static void show_kinds(const struct tallies *tallies, struct tally *all)
{
	puts("| kind of run | runs | maximum | end | false alarm | miss | undetermined | hesitant "
	     "| "
	     "close | other basis | event missed | event invented |\n"
	     "| --- | ---: | ---: | ---: | ---: | ---: | ---: | ---: | ---: | ---: | ---: | ---: "
	     "|");
	for (size_t k = 0; k <= kinds_count(); k++) {
		const struct tally *tally = &tallies->kind[k];
		if (tally->runs == 0)
			continue;
		show_row(kinds_table()[k].name, tally);
		tally_add(all, tally);
	}
	show_row("**all**", all);
}

static void show_shares(const struct tally *all)
{
	int64_t wrong = all->verdict_alarm + all->verdict_miss + all->verdict_refuge;
	int64_t outside = all->verdict_right + wrong + all->verdict_hesitant;
	double runs = (double)all->runs, clear = fmax(1, (double)outside);
	printf("\n- maximum and end right: %.3f %% of %lld runs\n",
		100 * (1 - (double)all->whole_wrong / runs), (long long)all->runs);
	printf("- verdict right where the truth lies outside 2u of a limit: %.3f %% of %lld runs; "
	       "wrong in %.3f %%, undetermined between 2u and 4u in %.3f %%\n",
		100 * (double)all->verdict_right / clear, (long long)outside,
		100 * (double)wrong / clear, 100 * (double)all->verdict_hesitant / clear);
	printf("- where 2u is under a quarter of the band's half-width (%lld runs): undetermined "
	       "%lld, of these without a gap, with readings enough and far from a limit: %lld\n",
		(long long)all->fine, (long long)all->fine_undetermined,
		(long long)all->fine_refuge);
	double limit = fmax(1, (double)all->at_limit);
	printf("- steady exactly at a limit (%lld runs): undetermined %.1f %%, out of band %.1f "
	       "%%, in "
	       "band for the rest\n",
		(long long)all->at_limit, 100 * (double)all->at_limit_undetermined / limit,
		100 * (double)all->at_limit_out / limit);
	printf("- yielding not named in the reason: %lld\n", (long long)all->reason_wrong);
	if (all->again_wrong != 0)
		printf("- judged again and something differed: %lld\n",
			(long long)all->again_wrong);
}

/* Lateness below which this share of the excursions was announced; negative: fewer were. */
static double quantile(const int64_t *bins, int64_t count, double share)
{
	int64_t seen = 0;
	for (size_t i = 0; i + 1 < TALLY_BINS; i++) {
		seen += bins[i];
		if ((double)seen >= share * (double)count)
			return (double)(i + 1) * TALLY_BIN_S;
	}
	return -1;
}

static void put_quantile(double late_s)
{
	if (late_s < 0)
		printf(" not so many |");
	else
		printf(" %.1f s |", late_s);
}

static void show_late(const struct tally *all)
{
	puts("\n| excursion | press | number | announced | half of them within | 90 % within |\n"
	     "| --- | --- | ---: | ---: | ---: | ---: |");
	for (size_t i = 0; i < 2 * TALLY_PRESSES; i++) {
		bool thirty = i < TALLY_PRESSES;
		size_t press = i % TALLY_PRESSES;
		const int64_t *bins = all->late[thirty][press];
		int64_t count = 0;
		for (size_t k = 0; k < TALLY_BINS; k++)
			count += bins[k];
		if (count == 0)
			continue;
		printf("| %s | %s | %lld | %.1f %% |", thirty ? "by 30 %" : "by 30 % and more",
			presses[press], (long long)count,
			100 * (1 - (double)bins[TALLY_BINS - 1] / (double)count));
		put_quantile(quantile(bins, count, 0.5));
		put_quantile(quantile(bins, count, 0.9));
		putchar('\n');
	}
}

void tally_show(const struct tallies *tallies)
{
	struct tally all = {0};
	show_kinds(tallies, &all);
	show_shares(&all);
	show_late(&all);
	double hours = (double)all.good_ms / 3.6e6;
	printf("\n- good loading with an anticipated load: %lld runs, %.1f h between the half and "
	       "90 %%\n- false warnings: %lld, in %lld runs: %.2f per 1000 runs, %.2f per hour\n"
	       "- runs with a warning between 90 %% and the maximum, where the rate falls by "
	       "itself: %.2f per 1000\n",
		(long long)all.good, hours, (long long)all.good_warnings,
		(long long)all.good_warned, per_thousand(all.good_warned, all.good),
		hours > 0 ? (double)all.good_warnings / hours : 0,
		per_thousand(all.late_warned, all.good));
}
