/* SPDX-License-Identifier: MIT
 *
 * What a judge holds: for judge.c, which feeds it, and finish.c, which judges what was fed. Nobody
 * else includes this.
 */
#ifndef JUDGE_JUDGE_STATE_H
#define JUDGE_JUDGE_STATE_H

#include "judge/advice.h"
#include "judge/brink.h"
#include "judge/findings.h"
#include "judge/incident.h"
#include "judge/judge.h"
#include "judge/noise.h"
#include "judge/phase.h"
#include "judge/running.h"
#include "judge/spike.h"
#include "judge/stuck.h"
#include "judge/track.h"

struct judge {
	struct plan plan;
	struct spike spike;
	struct brink brink;
	struct stuck stuck;
	struct track track;
	struct running running;
	struct machine machine;
	struct incident incident;
	struct adviser adviser;
	struct findings findings;
	int64_t last_ns;
	size_t sample_count;
	bool any;
	struct noise noise;       /* scratch of judge_finish */
	struct findings finished; /* events on the record */
};

/* A reading that the spike filter has denied goes on the findings. */
void judge_deny(struct judge *judge, const struct sample *sample);

#endif
