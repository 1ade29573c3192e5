/* SPDX-License-Identifier: MIT
 *
 * The verdict: was the stress rate in the band over the judged span?
 *
 * The judged span runs from the first sample at span_from of the basis load to the first sample at
 * span_to of the maximum. A window of length W (never more than window_share of the span) slides
 * inside it; its least-squares slope is compared, unrounded, with the band in the unit in which the
 * method gives the band (ASTM E29, absolute method), and an excursion counts when it exceeds
 * `sigmas` standard errors (see noise.h).
 *
 * Where the method gives a time instead of a band, the span's duration is compared with it; the
 * band in the rate is then the mean rate that the two times make.
 */
#ifndef JUDGE_VERDICT_H
#define JUDGE_VERDICT_H

#include "judge/findings.h"
#include "judge/noise.h"
#include "judge/plan.h"
#include "judge/track.h"

struct verdict_input {
	const struct plan *plan;
	const struct track *track;
	const struct findings *findings; /* what happened, for stand-stills and falls in the span */
	struct noise *noise;             /* scratch memory */
	int64_t maximum_un;
	size_t maximum_at; /* index in the track */
	enum end end;
};

/* Fills in rate; where crossings is not NULL, adds band_left and band_regained to it. */
void verdict_judge(const struct verdict_input *input, enum basis basis, struct rate *rate,
	struct findings *crossings);

#endif
