/* SPDX-License-Identifier: MIT
 *
 * The outcome as a JSON object. Names and units are an interface: they do not change.
 */
#include "wire/outcome_json.h"

#include "base/units.h"
#include "wire/verification_json.h"

static double megapascal(double pascal)
{
	return pascal / UNITS_PASCAL_PER_MPA;
}

static json_t *newton(int64_t load_un)
{
	return json_real((double)load_un / (double)UNITS_UN_PER_N);
}

/* Text, or null where it is empty. */
static json_t *text_or_null(const char *text)
{
	return text[0] != '\0' ? json_string(text) : json_null();
}

static void put(json_t *object, const char *name, json_t *value)
{
	json_object_set_new(object, name, value);
}

static double seconds(struct mono_time time, struct mono_time origin)
{
	return (double)(time.ns - origin.ns) / (double)CLOCKS_NS_PER_S;
}

static json_t *rate_json(const struct rate *rate, struct mono_time origin)
{
	json_t *object = json_object();
	bool judged = rate->window_ns > 0;
	put(object, "verdict", text_or_null(verdict_text(rate->verdict)));
	put(object, "reason", json_string(rate->reason));
	put(object, "band_low_mpa_s", json_real(megapascal(rate->band_low_pa_s)));
	put(object, "band_high_mpa_s", json_real(megapascal(rate->band_high_pa_s)));
	put(object, "judged_from_s", judged ? json_real(seconds(rate->from, origin)) : json_null());
	put(object, "judged_to_s", judged ? json_real(seconds(rate->to, origin)) : json_null());
	put(object, "mean_mpa_s", judged ? json_real(megapascal(rate->mean_pa_s)) : json_null());
	put(object, "lowest_mpa_s",
		judged ? json_real(megapascal(rate->lowest_pa_s)) : json_null());
	put(object, "highest_mpa_s",
		judged ? json_real(megapascal(rate->highest_pa_s)) : json_null());
	put(object, "window_s", json_real((double)rate->window_ns / (double)CLOCKS_NS_PER_S));
	put(object, "uncertainty_mpa_s", json_real(megapascal(rate->uncertainty_pa_s)));
	put(object, "outside_s", json_real((double)rate->outside_ns / (double)CLOCKS_NS_PER_S));
	return object;
}

static json_t *event_json(const struct event *event, struct mono_time origin)
{
	json_t *object = json_object();
	put(object, "kind", json_string(event_kind_text(event->kind)));
	put(object, "time_s", json_real(seconds(event->time, origin)));
	put(object, "load_n", newton(event->load_un));
	put(object, "text", json_string(event->text));
	return object;
}

static json_t *millimetre(int64_t length_um)
{
	return json_real((double)length_um / (double)UNITS_UM_PER_MM);
}

static json_t *thrust_json(const struct outcome_thrust *thrust, struct mono_time origin)
{
	if (!thrust->known)
		return json_null();
	json_t *object = json_object();
	put(object, "x_mm", millimetre(thrust->x_um));
	put(object, "y_mm", millimetre(thrust->y_um));
	put(object, "worst_mm", millimetre(thrust->worst_um));
	put(object, "worst_s", json_real(seconds(thrust->worst_at, origin)));
	return object;
}

json_t *outcome_json(const struct outcome *outcome, struct mono_time origin)
{
	const struct judgement *judgement = &outcome->judgement;
	bool loaded = judgement->end != END_NO_LOAD;
	json_t *object = json_object();
	if (object == NULL)
		return NULL;
	/* NULL: of a stored run whose method cannot be read. */
	put(object, "method", outcome->method ? json_string(outcome->method->name) : json_null());
	put(object, "basis", json_string(basis_text(judgement->basis)));
	put(object, "end", json_string(end_text(judgement->end)));
	put(object, "maximum_load_n", newton(judgement->maximum_un));
	put(object, "maximum_load_time_s",
		loaded ? json_real(seconds(judgement->maximum_at, origin)) : json_null());
	put(object, "area_mm2", json_real(outcome->area_m2 * 1e6));
	put(object, "strength_mpa",
		outcome->strength_pa > 0 ? json_real(megapascal(outcome->strength_pa))
					 : json_null());
	put(object, "strength_reported", text_or_null(outcome->strength_reported));
	put(object, "rate", rate_json(&judgement->rate, origin));
	put(object, "rate_other_basis",
		judgement->rate_other.verdict == VERDICT_NONE
			? json_null()
			: rate_json(&judgement->rate_other, origin));
	put(object, "thrust", thrust_json(&outcome->thrust, origin));
	json_t *events = json_array();
	for (size_t i = 0; i < judgement->event_count; i++)
		json_array_append_new(events, event_json(&judgement->events[i], origin));
	put(object, "events", events);
	return object;
}

void outcome_json_head(json_t *object, const struct outcome_head *head)
{
	char started[CLOCKS_UTC_TEXT_SIZE];
	clocks_utc_text(head->started, started);
	put(object, "run", json_integer(head->run));
	put(object, "press", json_string(head->press));
	put(object, "specimen", text_or_null(head->specimen));
	put(object, "started", json_string(started));
	put(object, "fracture", head->fracture > 0 ? json_integer(head->fracture) : json_null());
	put(object, "samples", head->samples >= 0 ? json_integer(head->samples) : json_null());
	verification_json_standing(object, head->standing, head->maximum_un);
}
