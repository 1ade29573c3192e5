/* SPDX-License-Identifier: MIT
 *
 * One value, its time, and the rise behind its back.
 */
#include "judge/stuck.h"

void stuck_init(struct stuck *stuck)
{
	*stuck = (struct stuck){.load_un = INT64_MIN};
}

void stuck_thinned(struct stuck *stuck)
{
	stuck->count /= 2;
}

bool stuck_until_gone(
	const struct stuck *stuck, const struct policy *policy, struct slope_point now)
{
	double lasted_s = stuck_lasted_s(stuck);
	if (policy->rules < 4 || lasted_s < policy->live_s)
		return false;
	double expected_n = stuck->own_n_s * lasted_s, load_n = (double)stuck->load_un * 1e-6;
	double lost = 1 - (double)now.load_un * 1e-6 / load_n;
	double fell_s = (double)(now.time_ns - stuck->last_ns) * 1e-9;
	return expected_n > policy->stuck_gone * stuck->least_n &&
	       expected_n > (1 - policy->decline_fraction) * load_n &&
	       lost > 1 - policy->decline_fraction && lost > policy->sudden_per_s * fell_s;
}

bool stuck_explains(const struct stuck *stuck, const struct policy *policy, struct slope_point now)
{
	double lasted_s = stuck_lasted_s(stuck);
	if (policy->rules < 4 || stuck->count == 0 || lasted_s < policy->stuck_s)
		return false;
	double expected_n = stuck->own_n_s * lasted_s;
	double risen_n = ((double)now.load_un - (double)stuck->load_un) * 1e-6;
	return expected_n > stuck->least_n && risen_n >= policy->stuck_risen * expected_n &&
	       risen_n <= (2 - policy->stuck_risen) * expected_n;
}

size_t stuck_feed(struct stuck *stuck, const struct policy *policy, struct slope_point now,
	double own_n_s, double least_n)
{
	if (stuck_pass(stuck, now))
		return 0;
	if (now.load_un == stuck->load_un) {
		if (stuck->count++ == 0) {
			stuck->own_n_s = own_n_s;
			stuck->least_n = least_n;
		}
		stuck->last_ns = now.time_ns;
		return 0;
	}
	double lasted_s = stuck_lasted_s(stuck);
	if (policy->rules >= 4) {
		own_n_s = stuck->own_n_s;
		least_n = stuck->least_n;
	}
	double expected_n = own_n_s * lasted_s;
	double risen_n = ((double)now.load_un - (double)stuck->load_un) * 1e-6;
	bool was = lasted_s >= policy->stuck_s && expected_n > least_n &&
		   risen_n >= policy->stuck_risen * expected_n;
	size_t count = was ? stuck->count : 0;
	*stuck = (struct stuck){
		.load_un = now.load_un, .since_ns = now.time_ns, .last_ns = now.time_ns};
	return count;
}
