/* SPDX-License-Identifier: MIT
 *
 * The arithmetic of a verification. Limits are inclusive; those between two loads are decided in
 * whole micronewtons, so that an error of just 1 % is one of 1 %.
 */
#include "result/verification.h"

#include "base/text.h"
#include "base/units.h"
#include "base/wide.h"

#include <assert.h>
#include <math.h>
#include <string.h>

/* ASTM E4, both limits. */
static const double tolerance_percent = 1.0;
/* Two errors differ in their last binary digit for no reason of the press. */
static const double percent_noise = 1e-9;

double verification_error_percent(int64_t indicated_un, int64_t true_un)
{
	assert(true_un > 0);
	return 100 * (double)(indicated_un - true_un) / (double)true_un;
}

bool verification_within(int64_t indicated_un, int64_t true_un)
{
	wide error = (wide)indicated_un - true_un;

	return 100 * (error < 0 ? -error : error) <= true_un;
}

int64_t verification_resolution_un(int64_t increment_un, int64_t flutter_un)
{
	return flutter_un > 2 * increment_un ? (flutter_un + 1) / 2 : increment_un;
}

static int64_t larger(int64_t one, int64_t other)
{
	return one > other ? one : other;
}

int64_t verification_floor_un(const struct verification *verification)
{
	int64_t floor_un =
		larger(200 * verification->resolution_un, 100 * verification->increment_un);

	return larger(floor_un, verification->capacity_un / 10);
}

int64_t verification_return_limit_un(int64_t resolution_un, int64_t most_un, int64_t low_un)
{
	return larger(resolution_un, larger(most_un / 1000, low_un / 100));
}

/* ---- what cannot be one */

static bool check_loads(const struct verification *verification, struct message *why)
{
	for (size_t i = 0; i < verification->force_count; i++) {
		const struct verification_force *force = &verification->forces[i];

		for (size_t run = 0; run < VERIFICATION_RUNS; run++) {
			bool loaded = force->true_un[run] > 0 &&
				      force->true_un[run] <= UNITS_LOAD_UN_MAX &&
				      force->indicated_un[run] > 0 &&
				      force->indicated_un[run] <= UNITS_LOAD_UN_MAX;
			if (verification->guided && !loaded)
				return message_set(why,
					"force %zu of run %zu: both loads lie above 0 and below "
					"100 MN",
					i + 1, run + 1);
			if (!isfinite(force->error_percent[run]) ||
				fabs(force->error_percent[run]) > 100)
				return message_set(
					why, "force %zu: an error is within 100 %%", i + 1);
		}
	}
	return true;
}

static bool check_range(const struct verification *verification, struct message *why)
{
	int64_t floor_un = verification_floor_un(verification);

	if (verification->low_un <= 0 || verification->high_un <= verification->low_un)
		return message_set(why, "the verified range needs a lower and a higher end");
	if (verification->high_un > verification->capacity_un)
		return message_set(why, "the verified range ends above the press's capacity");
	if (verification->low_un >= floor_un)
		return true;
	return message_set(why,
		"the range begins at %.10g kN, but no load below %.10g kN can be verified here "
		"(200 "
		"x the resolution, 100 x the increment, 10 %% of the capacity): enter it from "
		"there",
		(double)verification->low_un * 1e-9, (double)floor_un * 1e-9);
}

bool verification_check(
	const struct verification *verification, struct utc_time now, struct message *why)
{
	assert(verification->force_count <= VERIFICATION_FORCES_MAX);
	if (!verification->press[0])
		return message_set(why, "which press was verified?");
	if (!text_is_printable(verification->reference) || !verification->reference[0] ||
		!text_is_printable(verification->certificate))
		return message_set(why,
			"the reference device is missing, or a text is not printable UTF-8: name "
			"the device and its own certificate");
	if (verification->verified.ns <= 0 || verification->verified.ns > now.ns)
		return message_set(why, "the date of the verification lies in the future, or is "
					"missing");
	if (verification->increment_un <= 0 ||
		verification->resolution_un < verification->increment_un ||
		verification->resolution_un > UNITS_LOAD_UN_MAX)
		return message_set(why, "the resolution is a load above 0 and no finer than the "
					"smallest change that can be read");
	if (verification->capacity_un <= 0)
		return message_set(why, "the press's capacity is not known");
	if (verification->force_count == 0)
		return message_set(why, verification->guided
						? "no force was applied"
						: "the errors are missing: give those of the "
						  "certificate, force by force");
	if (!check_loads(verification, why))
		return false;
	return verification->guided || check_range(verification, why);
}

/* ---- pass or fail */

/* Adds a sentence to the reason; the verification has failed. */
static void fail(struct verification *verification, struct text *reason, const char *sentence)
{
	verification->passed = false;
	text_put(reason, reason->length ? "; " : "");
	text_put(reason, sentence);
}

static void judge_errors(struct verification *verification, struct text *reason)
{
	bool outside = false;

	for (size_t i = 0; i < verification->force_count; i++) {
		struct verification_force *force = &verification->forces[i];
		double spread = 0;

		for (size_t run = 0; run < VERIFICATION_RUNS; run++) {
			int64_t a = force->indicated_un[run], b = force->true_un[run];
			double *error = &force->error_percent[run];
			bool within = fabs(*error) <= tolerance_percent + percent_noise;

			if (verification->guided) {
				*error = verification_error_percent(a, b);
				within = verification_within(a, b);
			}
			outside = outside || !within;
			if (fabs(*error) > fabs(verification->worst_percent))
				verification->worst_percent = *error;
		}
		spread = fabs(force->error_percent[0] - force->error_percent[1]);
		if (spread > verification->repeatability_percent)
			verification->repeatability_percent = spread;
	}
	if (outside)
		fail(verification, reason, "an error is larger than 1.0 % of the force");
	if (verification->repeatability_percent > tolerance_percent + percent_noise)
		fail(verification, reason, "two errors of one force differ by more than 1.0 %");
}

static int64_t lower_true(const struct verification_force *force)
{
	return force->true_un[0] < force->true_un[1] ? force->true_un[0] : force->true_un[1];
}

static int64_t higher_true(const struct verification_force *force)
{
	return larger(force->true_un[0], force->true_un[1]);
}

/* The range that was really covered: what was applied in both runs, from the floor on. */
static void derive_range(struct verification *verification, size_t *first)
{
	int64_t floor_un = verification_floor_un(verification);
	size_t count = verification->force_count;

	*first = 0;
	while (*first < count && lower_true(&verification->forces[*first]) < floor_un)
		++*first;
	verification->low_un = *first < count ? higher_true(&verification->forces[*first]) : 0;
	verification->high_un = *first < count ? lower_true(&verification->forces[count - 1]) : 0;
	if (verification->high_un < verification->low_un)
		verification->high_un = verification->low_un;
}

/* Adjacent forces are no farther apart than a third of the range. */
static bool is_covered(const struct verification *verification, size_t first)
{
	const struct verification_force *forces = verification->forces;
	wide range = (wide)verification->high_un - verification->low_un;

	for (size_t i = first + 1; i < verification->force_count; i++) {
		for (size_t run = 0; run < VERIFICATION_RUNS; run++) {
			wide step = (wide)forces[i].true_un[run] - forces[i - 1].true_un[run];

			if (step <= 0 || 3 * step > range)
				return false;
		}
	}
	return true;
}

static void judge_forces(struct verification *verification, struct text *reason)
{
	size_t first = 0;

	derive_range(verification, &first);
	if (verification->force_count - first < VERIFICATION_FORCES_LEAST)
		fail(verification, reason,
			"fewer than five forces reach the lowest load that can be verified");
	else if (!is_covered(verification, first))
		fail(verification, reason,
			"the forces do not rise, or two neighbours are more than a third of the "
			"range apart");
	for (size_t run = 0; run < VERIFICATION_RUNS && verification->force_count; run++) {
		int64_t most_un = verification->forces[verification->force_count - 1].true_un[run];
		int64_t limit_un = verification_return_limit_un(
			verification->resolution_un, most_un, verification->low_un);
		int64_t rest_un = verification->return_un[run];

		if ((rest_un < 0 ? -rest_un : rest_un) <= limit_un)
			continue;
		fail(verification, reason, "the press did not return to zero");
		break;
	}
}

void verification_judge(struct verification *verification)
{
	struct text reason;

	assert(verification->force_count <= VERIFICATION_FORCES_MAX);
	text_init(&reason, verification->reason, sizeof verification->reason);
	verification->passed = true;
	verification->worst_percent = 0;
	verification->repeatability_percent = 0;
	judge_errors(verification, &reason);
	if (verification->guided)
		judge_forces(verification, &reason);
}
