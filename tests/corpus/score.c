/* SPDX-License-Identifier: MIT
 *
 * Maximum, end, verdict on both bases, events, reason, live warnings.
 */
#include "score.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Excursions are measured from this much of the middle of the band on. */
static const double excursion_share = 0.299;

static void say(struct score *score, bool wrong, const char *prefix, const char *what)
{
	size_t used = strlen(score->what);
	if (wrong)
		snprintf(score->what + used, sizeof score->what - used, " %s%s", prefix, what);
}

static void score_whole(const struct machine *machine, struct score *score)
{
	const struct scene *scene = &machine->scene;
	const struct judgement *judgement = &machine->judgement;
	const struct record *record = &machine->record;
	double off_n = (double)llabs(judgement->maximum_un - record->largest_un) * 1e-6;
	struct tally *tally = &score->tally;
	tally->maximum_wrong = off_n > scene->world.step_n / 2;
	tally->time_wrong = !tally->maximum_wrong && judgement->maximum_at.ns != record->largest_ns;
	tally->end_wrong = !scene->either_end && !scene->lost && judgement->end != scene->end;
	tally->whole_wrong = tally->maximum_wrong || tally->end_wrong;
	say(score, tally->maximum_wrong != 0, "", "maximum");
	say(score, tally->time_wrong != 0, "", "time");
	say(score, tally->end_wrong != 0, "", "end");
}

static void score_verdict(const struct machine *machine, struct score *score)
{
	static const char *const words[] = {[MARK_HESITANT] = "hesitant",
		[MARK_REFUGE] = "undetermined",
		[MARK_ALARM] = "false-alarm",
		[MARK_MISS] = "miss"};
	const struct scene *scene = &machine->scene;
	const struct rate *rate = &machine->judgement.rate;
	struct tally *tally = &score->tally;
	enum mark mark = truth_mark(scene, &score->truth, rate->verdict);
	int64_t *const marks[] = {&tally->verdict_right, &tally->verdict_close,
		&tally->verdict_hesitant, &tally->verdict_refuge, &tally->verdict_alarm,
		&tally->verdict_miss};
	++*marks[mark];
	tally->undetermined = rate->verdict == VERDICT_UNDETERMINED;
	tally->out_of_band = rate->verdict == VERDICT_OUT_OF_BAND;
	tally->at_limit =
		score->truth.judged && fabs(score->truth.excess_n_s) < 1e-6 * scene->rate_n_s;
	tally->at_limit_out = tally->at_limit && tally->out_of_band;
	tally->at_limit_undetermined = tally->at_limit && tally->undetermined;
	tally->fine = truth_is_fine(scene, &score->truth);
	tally->fine_undetermined = tally->fine && tally->undetermined;
	tally->fine_refuge = tally->fine && mark == MARK_REFUGE;
	say(score, mark >= MARK_HESITANT, "", mark >= MARK_HESITANT ? words[mark] : "");
	bool low = score->truth.judged && score->truth.low;
	tally->reason_wrong = scene->yields && low && rate->verdict == VERDICT_OUT_OF_BAND &&
			      strstr(rate->reason, "yielding") == NULL;
	say(score, tally->reason_wrong != 0, "", "reason");
	const struct rate *other = &machine->judgement.rate_other;
	if (other->verdict == VERDICT_NONE)
		return;
	struct truth truth;
	enum basis basis = machine->judgement.basis;
	truth_of_rate(scene, basis == BASIS_MAXIMUM ? BASIS_ANTICIPATED : BASIS_MAXIMUM, &truth);
	tally->other_wrong = truth_mark(scene, &truth, other->verdict) >= MARK_REFUGE;
	say(score, tally->other_wrong != 0, "other-basis-", verdict_text(other->verdict));
}

static void score_events(const struct machine *machine, struct score *score)
{
	const struct scene *scene = &machine->scene;
	const struct judgement *judgement = &machine->judgement;
	unsigned found = 0;
	for (size_t i = 0; i < judgement->event_count; i++)
		found |= 1u << judgement->events[i].kind;
	for (int k = 0; k < EVENT_BAND_LEFT; k++) {
		unsigned bit = 1u << k;
		const char *name = event_kind_text((enum event_kind)k);
		say(score, (scene->must & ~found & bit) != 0, "missed-", name);
		say(score, (found & ~(scene->must | scene->may) & bit) != 0, "false-", name);
	}
	unsigned judged = (1u << EVENT_BAND_LEFT) - 1;
	score->tally.event_missed = (scene->must & ~found) != 0;
	score->tally.event_false = (found & judged & ~(scene->must | scene->may)) != 0;
}

static void score_live(const struct machine *machine, struct score *score)
{
	const struct scene *scene = &machine->scene;
	const struct watch *watch = &machine->watch;
	struct tally *tally = &score->tally;
	double off = fabs(scene->warned_rate_n_s / scene->rate_n_s - 1);
	if (scene->warned_from_s > 0 && off >= excursion_share) {
		double late_s =
			watch->announced_s > 0 ? watch->announced_s - scene->warned_from_s : -1;
		tally_late(tally, off < excursion_share + 0.002, scene->press, late_s);
	}
	double good_s = watch->good_until_s - watch->good_from_s;
	if (good_s <= 0)
		return;
	tally->good = 1;
	tally->good_ms = llround(good_s * 1e3);
	tally->good_warnings = watch->good_warnings;
	tally->good_warned = watch->good_warnings > 0;
	tally->late_warned = watch->late_warnings > 0;
	say(score, watch->good_warnings > 0, "", "warning");
}

void score_run(const struct machine *machine, struct score *score)
{
	*score = (struct score){.tally.runs = 1};
	truth_of_rate(&machine->scene, machine->judgement.basis, &score->truth);
	score_whole(machine, score);
	score_verdict(machine, score);
	score_events(machine, score);
	score_live(machine, score);
}

static void describe_rate(const char *basis, const struct rate *rate)
{
	printf("  %s: %s: %s\n", basis, verdict_text(rate->verdict), rate->reason);
}

void score_describe(
	const struct machine *machine, const struct score *score, long index, const char *kind)
{
	const struct scene *scene = &machine->scene;
	const struct world *world = &scene->world;
	const struct judgement *judgement = &machine->judgement;
	const struct truth *truth = &score->truth;
	printf("%ld %s:%s; %s %.0f Hz step %.0f noise %.1f hunting %.0f/%.2f ripple %.0f/%.1f "
	       "chunk %d, maximum %.0f kN, rate %.2f kN/s\n",
		index, kind, score->what, scene->method->name, world->hz, world->step_n,
		world->noise_n, world->hunting_n, world->hunting_hz, world->ripple_n,
		world->ripple_hz, world->chunk, scene->maximum_n * 1e-3, scene->rate_n_s * 1e-3);
	printf("  found: end %s, maximum %.3f kN (true %.3f) at %.3f s (true %.3f)\n",
		end_text(judgement->end), (double)judgement->maximum_un * 1e-9,
		(double)machine->record.largest_un * 1e-9, (double)judgement->maximum_at.ns * 1e-9,
		(double)machine->record.largest_ns * 1e-9);
	describe_rate(basis_text(judgement->basis), &judgement->rate);
	if (judgement->rate_other.verdict != VERDICT_NONE)
		describe_rate("other basis", &judgement->rate_other);
	if (truth->judged)
		printf("  truth: excess %.1f errors of %.4f kN/s, span %.2f to %.2f s, window %.2f "
		       "s, gap %.2f s\n",
			truth->excess_n_s / truth->error_n_s, truth->error_n_s * 1e-3,
			truth->from_s, truth->to_s, truth->window_s, truth->gap_s);
	for (size_t i = 0; i < judgement->event_count; i++)
		printf("  %s at %.2f s: %s\n", event_kind_text(judgement->events[i].kind),
			(double)judgement->events[i].time.ns * 1e-9, judgement->events[i].text);
}
