/* SPDX-License-Identifier: MIT
 *
 * After the run: the maximum, how the load came down, the events that belong on the record, the
 * zero before contact, and the verdict on both bases, from the track.
 */
#include "judge/judge.h"

#include "judge/ending.h"
#include "judge/judge_state.h"
#include "judge/verdict.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Readings are missing or were held up where the load fell, and by their end it had fallen so far
 * that nobody saw how: whether the specimen broke or the valve was opened. */
static bool unseen(const struct judge *judge, size_t top, size_t below)
{
	const struct track *track = &judge->track;
	double seen = judge->plan.policy.decline_to * (double)track_load_un(track, top);
	if ((double)track_load_un(track, below) >= seen)
		return false;
	for (size_t i = 0; i < judge->finished.count; i++) {
		const struct event *event = &judge->finished.events[i];
		bool blind = event->kind == EVENT_GAP || event->kind == EVENT_LATE;
		if (blind && event->time.ns < track_time_ns(track, below) &&
			judge->finished.until_ns[i] > track_time_ns(track, below - 1))
			return true;
	}
	return false;
}

/* Between the two samples the load fell and rose again by more than it swings. */
static bool put_on_again(const struct track *track, size_t below, size_t next,
	const struct policy *policy, double swing_n)
{
	int64_t high_un = track_load_un(track, next), low_un = high_un;
	for (size_t i = below; i < next; i++) {
		if (track_load_un(track, i) < low_un)
			low_un = track_load_un(track, i);
	}
	double least_un = fmax((1 - policy->decline_fraction) * (double)high_un,
		policy->drop_swings * swing_n * 1e6);
	return policy->rules < 4 || (double)(high_un - low_un) > least_un;
}

/* The load's usual swing about its ramp, in N. What is larger than any press's is none: a bend, or
 * what faulty readings made of the ramp. */
static double swing_at(const struct judge *judge, size_t top)
{
	const struct policy *policy = &judge->plan.policy;
	double swing_n = judge->running.rates.swing;
	double most_n = policy->swing_most * (double)track_load_un(&judge->track, top) * 1e-6;
	return policy->rules >= 4 ? fmin(swing_n, most_n) : swing_n;
}

/* How the load came down from its maximum, or from a later top nearly as high. */
static enum end find_end(const struct judge *judge, size_t top)
{
	const struct track *track = &judge->track;
	const struct policy *policy = &judge->plan.policy;
	double least = policy->later_top * (double)track_load_un(track, top);
	double swing_n = swing_at(judge, top);
	enum end end = END_INTERRUPTED;
	while ((double)track_load_un(track, top) >= least) {
		double limit = policy->decline_fraction * (double)track_load_un(track, top);
		size_t below = track_below(track, top, (int64_t)limit);
		if (below == track->count)
			return end;
		if (policy->rules >= 2 && unseen(judge, top, below) &&
			!ending_sudden(track, top, policy, swing_n))
			return END_INTERRUPTED;
		enum fall fall = ending_fall(track, top, policy, swing_n);
		if (fall == FALL_BROKEN)
			return END_BROKEN;
		if (fall == FALL_NONE)
			return end;
		end = END_UNLOADED;
		size_t next = track_largest(track, below);
		if (next == below || !put_on_again(track, below, next, policy, swing_n))
			break;
		top = next;
	}
	return end;
}

/* What happened while seating is no event of the loading, nor is a slow rise near the maximum a
 * stand-still: the specimen yields there. A reading that was doubted when the load was small, but
 * is nothing against the maximum, is no spike. */
static bool belongs(const struct judge *judge, size_t index)
{
	const struct event *event = &judge->findings.events[index];
	const struct machine *machine = &judge->machine;
	double load = (double)event->load_un, maximum = (double)machine->maximum_un;
	double floor = judge->plan.policy.event_floor * maximum;
	bool before = event->time.ns < machine->maximum_ns;
	switch (event->kind) {
	case EVENT_STALL:
		return load >= floor && load < judge->plan.span_to * maximum && before;
	case EVENT_SHOCK:
		return load >= floor && before;
	case EVENT_SPIKE:
		return (double)judge->findings.size_un[index] >
		       judge->plan.policy.spike_fraction * maximum;
	case EVENT_DROP:
	case EVENT_RECOVERY:
	case EVENT_LET_OFF:
		return load >= floor;
	default:
		return true;
	}
}

/* How many falls lie one after the other from this event on, each within the slowest hunting's
 * period of the one before; step: 1, or -1 for those before it. */
static size_t falls_in_row(const struct judge *judge, size_t index, int step)
{
	const struct findings *findings = &judge->findings;
	int64_t last_ns = findings->events[index].time.ns;
	size_t row = 0;
	for (size_t i = index; i < findings->count; i += (size_t)step) { /* wraps below 0 */
		const struct event *event = &findings->events[i];
		if (event->kind != EVENT_DROP)
			continue;
		if ((double)llabs(event->time.ns - last_ns) > judge->plan.policy.hunting_s * 1e9)
			break;
		last_ns = event->time.ns;
		row++;
	}
	return row;
}

/* No specimen lets go and recovers in a rhythm: that is a press which hunts more than was known of
 * it, and each such fall keeps the judge from learning by how much. */
static bool in_rhythm(const struct judge *judge, size_t index)
{
	enum event_kind kind = judge->findings.events[index].kind;
	if (judge->plan.policy.rules < 4 || (kind != EVENT_DROP && kind != EVENT_RECOVERY))
		return false;
	size_t twice = kind == EVENT_DROP; /* counted in both directions */
	size_t row = falls_in_row(judge, index, 1) + falls_in_row(judge, index, -1) - twice;
	return (double)row >= judge->plan.policy.rhythm_falls;
}

static void keep_findings(const struct judge *judge, struct findings *kept)
{
	findings_clear(kept);
	kept->late_max = judge->findings.late_max;
	for (size_t i = 0; i < judge->findings.count; i++) {
		if (belongs(judge, i) && !in_rhythm(judge, i))
			findings_copy(kept, &judge->findings, i);
	}
	kept->total += judge->findings.total - judge->findings.count;
}

/* One of dozens of blocks is off by so much more than one of two. */
static const double zero_doubts = 1.5;

/* How far the means of two blocks of idle samples differ by their noise. */
static double block_doubt(const struct judge *judge)
{
	const struct machine *machine = &judge->machine;
	const struct policy *policy = &judge->plan.policy;
	if (policy->rules < 4 || machine->idle_changes == 0)
		return 0;
	/* a change and the difference of two means have twice the variance of what they are of */
	double change = machine->idle_squares_un / (double)machine->idle_changes;
	return policy->sigmas * sqrt(change / (double)machine->zero_samples);
}

/* From this block of idle samples to the next the press stood still. */
static bool zero_is_flat(const struct judge *judge, size_t block)
{
	const struct machine *machine = &judge->machine;
	const int64_t *from_ns = machine->zero_from_ns;
	if (!machine->touched)
		return true;
	double pace = (double)machine->maximum_un / (double)(machine->maximum_ns - from_ns[block]);
	double most =
		judge->plan.policy.zero_flat * pace * (double)(from_ns[block + 1] - from_ns[block]);
	most = fmax(most, (double)judge->spike.step_un / 4);
	most = fmax(most, block_doubt(judge));
	return fabs(machine->zero_un[block + 1] - machine->zero_un[block]) <= most;
}

/* What the press read at the end of the record, once the load was off: mean of the last moments. */
static double rest_load(const struct judge *judge)
{
	const struct track *track = &judge->track;
	size_t last = track->count - 1, first = last;
	int64_t since_ns =
		track_time_ns(track, last) - (int64_t)(judge->plan.policy.release_s / 2 * 1e9);
	double sum = (double)track_load_un(track, last);
	while (first > 0 && track_time_ns(track, first - 1) >= since_ns &&
		track_time_ns(track, first - 1) >= judge->machine.off_since_ns)
		sum += (double)track_load_un(track, --first);
	return sum / (double)(last - first + 1);
}

/* The press's zero before contact: where it first stood still. A slow approach is no offset. */
static void check_zero(const struct judge *judge, struct findings *findings)
{
	const struct machine *machine = &judge->machine;
	size_t block = 0;
	while (block + 1 < machine->zero_count && !zero_is_flat(judge, block))
		block++;
	double doubt = zero_doubts * block_doubt(judge);
	double limit = fmax(judge->plan.policy.zero_fraction * (double)machine->maximum_un,
		(double)judge->spike.step_un);
	limit = fmax(limit, doubt);
	if (block + 1 >= machine->zero_count || fabs(machine->zero_un[block]) <= limit)
		return;
	/* a press that reads something else afterwards had a load on before */
	double zero = machine->zero_un[block];
	double same = fmax(judge->plan.policy.zero_same * fabs(zero), (double)judge->spike.step_un);
	same = fmax(same, doubt);
	if (machine->off && fabs(rest_load(judge) - zero) > same)
		return;
	int64_t from_ns = machine->zero_from_ns[block];
	findings_add(findings, EVENT_ZERO_OFFSET, from_ns, from_ns,
		(int64_t)machine->zero_un[block], "the unloaded press read %.2f kN before contact",
		machine->zero_un[block] * 1e-9);
}

static void judge_rates(struct judge *judge, struct judgement *judgement, size_t top)
{
	struct verdict_input input = {
		.plan = &judge->plan,
		.track = &judge->track,
		.findings = &judge->finished,
		.noise = &judge->noise,
		.maximum_un = judgement->maximum_un,
		.maximum_at = top,
		.end = judgement->end,
	};
	bool anticipated = judge->plan.anticipated_load_un > 0;
	judgement->basis =
		anticipated && judge->plan.basis_anticipated ? BASIS_ANTICIPATED : BASIS_MAXIMUM;
	struct findings crossings = {0};
	verdict_judge(&input, judgement->basis, &judgement->rate, &crossings);
	judgement->rate_other.verdict = VERDICT_NONE;
	if (anticipated)
		verdict_judge(&input,
			judgement->basis == BASIS_MAXIMUM ? BASIS_ANTICIPATED : BASIS_MAXIMUM,
			&judgement->rate_other, NULL);
	for (size_t i = 0; i < crossings.count; i++)
		findings_copy(&judge->finished, &crossings, i);
}

static void judge_track(struct judge *judge, struct judgement *judgement)
{
	memset(judgement, 0, sizeof *judgement);
	keep_findings(judge, &judge->finished);
	check_zero(judge, &judge->finished);
	judgement->end = END_NO_LOAD;
	size_t top = 0;
	if (judge->machine.touched && judge->track.count > 0) {
		judgement->maximum_un = judge->machine.maximum_un;
		judgement->maximum_at.ns = judge->machine.maximum_ns;
		top = track_largest(&judge->track, 0);
		judgement->end = find_end(judge, top);
		/* An alignment check and nothing after it: no specimen breaks at so little. */
		if (judge->plan.policy.rules >= 4 && judgement->end == END_BROKEN &&
			judge->machine.maximum_un < judge->machine.alignment_un)
			judgement->end = END_UNLOADED;
	}
	judge_rates(judge, judgement, top);
	findings_sort(&judge->finished);
	judgement->event_count = judge->finished.count;
	judgement->event_total = judge->finished.total;
	for (size_t i = 0; i < judge->finished.count; i++)
		judgement->events[i] = judge->finished.events[i];
}

void judge_finish(struct judge *judge, struct judgement *judgement)
{
	/* The samples still held by the spike filter count as far as nothing denied them; they are
	 * put on the track for the judgement only, so that feeding may go on afterwards. One that
	 * the brink holds is a jump up that nothing has confirmed. */
	struct spike spike = judge->spike;
	size_t count = judge->track.count;
	size_t found = judge->findings.count, total = judge->findings.total;
	size_t faults = judge->findings.fault_count, lates = judge->findings.late_count;
	struct spike_out out;
	spike_flush(&spike, &out);
	for (size_t i = 0; i < out.denied_count; i++)
		judge_deny(judge, &out.denied[i]);
	for (size_t i = 0; i < judge->brink.held_count; i++)
		judge_deny(judge, &judge->brink.held[i]);
	for (size_t i = 0; i < out.count && judge->track.count < judge->track.capacity; i++)
		track_add(&judge->track,
			(struct slope_point){out.passed[i].time.ns, out.passed[i].load_un});
	judge_track(judge, judgement);
	judgement->sample_count = judge->sample_count;
	track_cut(&judge->track, count);
	judge->findings.count = found;
	judge->findings.total = total;
	judge->findings.fault_count = faults;
	judge->findings.late_count = lates;
}
