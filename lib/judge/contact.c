/* SPDX-License-Identifier: MIT
 *
 * Contact: the load stays at or above the contact load for policy.contact_s.
 */
#include "judge/judge.h"

void contact_init(struct contact *contact)
{
	*contact = (struct contact){0};
}

bool contact_feed(struct contact *contact, const struct plan *plan, const struct sample *sample)
{
	if (sample->load_un < plan->contact_un) {
		contact->touching = false;
		return false;
	}
	if (!contact->touching) {
		contact->touching = true;
		contact->since_ns = sample->time.ns;
	}
	double lasted_s = (double)(sample->time.ns - contact->since_ns) * 1e-9;
	return lasted_s >= plan->policy.contact_s;
}
