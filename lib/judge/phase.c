/* SPDX-License-Identifier: MIT
 *
 * The phase machine; diagram and invariants in phase.h.
 */
#include "judge/phase.h"

#include "base/larger.h"

#include <assert.h>
#include <math.h>
#include <string.h>

static const char *const names[] = {
	[PHASE_IDLE] = "idle",
	[PHASE_SEATING] = "seating",
	[PHASE_FIRST_HALF] = "first_half",
	[PHASE_LATTER_HALF] = "latter_half",
	[PHASE_YIELDING] = "yielding",
	[PHASE_DECLINING] = "declining",
	[PHASE_RELEASED] = "released",
};

const char *phase_text(enum phase phase)
{
	return names[phase];
}

static int64_t alignment_load(const struct plan *plan)
{
	const struct policy *policy = &plan->policy;
	if (plan->alignment_un > 0)
		return plan->alignment_un;
	if (plan->anticipated_load_un > 0)
		return (int64_t)(policy->alignment_fraction * (double)plan->anticipated_load_un);
	if (plan->area_m2 > 0)
		return (int64_t)(policy->alignment_pa * plan->area_m2 * 1e6);
	return (int64_t)(policy->alignment_contacts * (double)plan->contact_un);
}

void phase_init(struct machine *machine, const struct plan *plan, struct findings *findings)
{
	*machine = (struct machine){.plan = plan, .findings = findings, .phase = PHASE_IDLE};
	contact_init(&machine->contact);
	machine->alignment_un = alignment_load(plan);
	if (plan->anticipated_load_un > 0)
		machine->half_un = (int64_t)(plan->span_from * (double)plan->anticipated_load_un);
}

static void phase_check(const struct machine *machine)
{
	assert(!machine->over || machine->phase == PHASE_RELEASED);
	switch (machine->phase) {
	case PHASE_IDLE:
		assert(!machine->touched && machine->maximum_un == 0);
		break;
	case PHASE_SEATING:
		assert(machine->touched && machine->hump_un < machine->alignment_un);
		break;
	case PHASE_FIRST_HALF:
	case PHASE_LATTER_HALF:
	case PHASE_YIELDING:
		assert(machine->hump_un >= machine->alignment_un);
		break;
	case PHASE_DECLINING:
		assert(machine->broke && machine->hump_un >= machine->alignment_un);
		break;
	case PHASE_RELEASED:
		assert(machine->touched && machine->off);
		break;
	}
}

/* The transitions of the diagram: into which phases each may pass. */
static const unsigned ways[] = {
	[PHASE_IDLE] = 1u << PHASE_SEATING,
	[PHASE_SEATING] = 1u << PHASE_FIRST_HALF | 1u << PHASE_LATTER_HALF | 1u << PHASE_RELEASED,
	[PHASE_FIRST_HALF] = 1u << PHASE_FIRST_HALF | 1u << PHASE_LATTER_HALF |
			     1u << PHASE_YIELDING | 1u << PHASE_DECLINING | 1u << PHASE_RELEASED,
	[PHASE_LATTER_HALF] = 1u << PHASE_YIELDING | 1u << PHASE_DECLINING | 1u << PHASE_RELEASED,
	[PHASE_YIELDING] = 1u << PHASE_FIRST_HALF | 1u << PHASE_LATTER_HALF |
			   1u << PHASE_DECLINING | 1u << PHASE_RELEASED,
	[PHASE_DECLINING] = 1u << PHASE_FIRST_HALF | 1u << PHASE_LATTER_HALF | 1u << PHASE_RELEASED,
	[PHASE_RELEASED] = 1u << PHASE_SEATING,
};

static void enter(struct machine *machine, enum phase phase)
{
	assert((ways[machine->phase] >> phase & 1u) != 0);
	machine->phase = phase;
}

/* idle or released -> seating */
static void touch(struct machine *machine, struct slope_point now)
{
	if (machine->phase == PHASE_RELEASED)
		findings_add(machine->findings, EVENT_ALIGNMENT_CHECK, machine->hump_ns,
			machine->released_ns, machine->hump_un,
			"a load of %.1f kN was put on and taken off before the test",
			(double)machine->hump_un * 1e-9);
	enter(machine, PHASE_SEATING);
	machine->touched = true;
	machine->broke = false;
	machine->off = false;
	machine->hump_un = 0;
	machine->hump_ns = now.time_ns;
}

/* seating, first_half, declining -> the rising phase that belongs to the load */
static void climb(struct machine *machine)
{
	if (machine->hump_un < machine->alignment_un)
		return;
	bool past_half = machine->half_un > 0 && machine->hump_un >= machine->half_un;
	enter(machine, past_half ? PHASE_LATTER_HALF : PHASE_FIRST_HALF);
}

/* Keeps count of how long the running rate has been falling. */
static void follow_rate(
	struct machine *machine, struct slope_point now, const struct incident_rates *rates)
{
	if (!rates->known || machine->followed_ns == 0) {
		machine->followed = rates->live;
		machine->falling_since_ns = now.time_ns;
	} else {
		const struct policy *policy = &machine->plan->policy;
		double passed_s = (double)(now.time_ns - machine->followed_ns) * 1e-9;
		machine->followed += (rates->live - machine->followed) * passed_s /
				     (policy->falling_s + passed_s);
		if (rates->live >= policy->falling_share * machine->followed)
			machine->falling_since_ns = now.time_ns;
	}
	machine->followed_ns = rates->known ? now.time_ns : 0;
}

/* The same without an anticipated load: nobody knows how near the end is, and a valve that was
 * closed to the prescribed rate looks like yielding but for how long it takes. */
static void soften_blind(
	struct machine *machine, struct slope_point now, const struct incident_rates *rates)
{
	const struct policy *policy = &machine->plan->policy;
	bool falling = machine->falling_since_ns < now.time_ns;
	double lasted_s = (double)(now.time_ns - machine->falling_since_ns) * 1e-9;
	if (machine->phase == PHASE_YIELDING) {
		if (!falling && rates->live > policy->yield_back * machine->own_before)
			climb(machine);
	} else if (rates->live < policy->yield_rate_blind * rates->own &&
		   lasted_s > policy->yield_fall_s) {
		enter(machine, PHASE_YIELDING);
		machine->own_before = rates->own;
	}
}

/* latter_half (or first_half where no half is known) <-> yielding */
static void soften(
	struct machine *machine, struct slope_point now, const struct incident_rates *rates)
{
	const struct plan *plan = machine->plan;
	const struct policy *policy = &plan->policy;
	double anticipated = (double)plan->anticipated_load_un;
	if (anticipated <= 0) {
		soften_blind(machine, now, rates);
		return;
	}
	double limit = policy->yield_rate * rates->own;
	/* near the anticipated load, a rate below the band is the specimen's doing: nobody must be
	 * told to open the valve there */
	double band_low = plan->band_low * plan->rate_unit_pa * plan->area_m2;
	if (rates->own > band_low)
		limit = larger(limit, band_low);
	bool high = (double)now.load_un >= policy->yield_from * anticipated;
	if (machine->phase == PHASE_YIELDING) {
		if (rates->live > policy->yield_over * limit)
			climb(machine);
	} else if (high && rates->live < limit) {
		enter(machine, PHASE_YIELDING);
	}
}

/* a rising phase -> declining */
static void fall(struct machine *machine, struct slope_point now)
{
	double limit = machine->plan->policy.decline_fraction * (double)machine->hump_un;
	if ((double)now.load_un >= limit)
		return;
	enter(machine, PHASE_DECLINING);
	machine->broke = true;
}

/* any loaded phase -> released */
static void let_go(struct machine *machine, struct slope_point now)
{
	const struct policy *policy = &machine->plan->policy;
	double off = larger((double)machine->plan->contact_un / 2,
		policy->release_fraction * (double)machine->maximum_un);
	if ((double)now.load_un >= off) {
		machine->off = false;
		return;
	}
	if (!machine->off) {
		machine->off = true;
		machine->off_since_ns = now.time_ns;
	}
	if ((double)(now.time_ns - machine->off_since_ns) < policy->release_s * 1e9)
		return;
	enter(machine, PHASE_RELEASED);
	machine->released_ns = now.time_ns;
	machine->over = machine->hump_un >= machine->alignment_un;
	contact_init(&machine->contact);
}

/* How many blocks of idle samples are kept: two at least, to see that the press stood still. */
static size_t zero_blocks(const struct policy *policy)
{
	double blocks = policy->zero_kept_s / policy->zero_s + 0.5;
	return (size_t)smaller(larger(blocks, 2), PHASE_ZERO_BLOCKS);
}

static void note_idle(struct machine *machine, struct slope_point now)
{
	if (machine->idle_count == 0) {
		machine->idle_since_ns = now.time_ns;
		machine->idle_sum_un = 0;
	}
	if (machine->idle_count > 0) {
		machine->idle_squares_un += pow((double)now.load_un - machine->idle_last_un, 2);
		machine->idle_changes++;
	}
	machine->idle_last_un = (double)now.load_un;
	machine->idle_sum_un += (double)now.load_un;
	machine->idle_count++;
	double lasted_s = (double)(now.time_ns - machine->idle_since_ns) * 1e-9;
	if (lasted_s < machine->plan->policy.zero_s || machine->idle_count < 3)
		return;
	size_t most = zero_blocks(&machine->plan->policy);
	if (machine->zero_count == most) {
		machine->zero_count--;
		memmove(machine->zero_un, machine->zero_un + 1,
			machine->zero_count * sizeof machine->zero_un[0]);
		memmove(machine->zero_from_ns, machine->zero_from_ns + 1,
			machine->zero_count * sizeof machine->zero_from_ns[0]);
	}
	machine->zero_un[machine->zero_count] = machine->idle_sum_un / (double)machine->idle_count;
	machine->zero_from_ns[machine->zero_count++] = machine->idle_since_ns;
	machine->zero_samples = machine->idle_count;
	machine->idle_count = 0;
}

static void feed_unloaded(struct machine *machine, struct slope_point now)
{
	const struct plan *plan = machine->plan;
	struct sample sample = {.time = {now.time_ns}, .load_un = now.load_un};
	if (contact_feed(&machine->contact, plan, &sample))
		touch(machine, now);
	else if (machine->phase == PHASE_IDLE && !machine->contact.touching)
		note_idle(machine, now);
	else if (machine->phase == PHASE_RELEASED)
		machine->over = (double)(now.time_ns - machine->released_ns) >=
				plan->policy.alignment_wait_s * 1e9;
}

static void take_maximum(struct machine *machine, struct slope_point now)
{
	if (now.load_un > machine->maximum_un) {
		machine->maximum_un = now.load_un;
		machine->maximum_ns = now.time_ns;
	}
}

static void feed_loaded(
	struct machine *machine, struct slope_point now, const struct incident_rates *rates)
{
	bool higher = now.load_un > machine->hump_un;
	if (higher) {
		machine->hump_un = now.load_un;
		machine->hump_ns = now.time_ns;
	}
	take_maximum(machine, now);
	if (machine->phase == PHASE_SEATING || machine->phase == PHASE_FIRST_HALF ||
		(machine->phase == PHASE_DECLINING && higher))
		climb(machine);
	bool rising = machine->phase == PHASE_LATTER_HALF || machine->phase == PHASE_YIELDING ||
		      (machine->phase == PHASE_FIRST_HALF && machine->half_un == 0);
	if (machine->half_un == 0)
		follow_rate(machine, now, rates);
	if (rising && rates->known)
		soften(machine, now, rates);
	if (machine->phase != PHASE_SEATING && machine->phase != PHASE_DECLINING)
		fall(machine, now);
	let_go(machine, now);
}

/* Its time is not known: all that can be said is how high the load was. */
void phase_late(struct machine *machine, struct slope_point now)
{
	if (phase_loaded(machine->phase) && !machine->over)
		take_maximum(machine, now);
}

void phase_feed(struct machine *machine, struct slope_point now, const struct incident_rates *rates)
{
	if (machine->over)
		return;
	if (!phase_loaded(machine->phase))
		feed_unloaded(machine, now);
	if (phase_loaded(machine->phase))
		feed_loaded(machine, now, rates);
	phase_check(machine);
}
