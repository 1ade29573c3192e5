/* SPDX-License-Identifier: MIT
 *
 * How a press stands between its runs: what its cells read unloaded, whether it is verified, what
 * upkeep is due; and the notices that follow for whoever stands before it.
 */
#ifndef DAEMON_STANCE_H
#define DAEMON_STANCE_H

#include "config.h"
#include "measure/level.h"
#include "result/press_watch.h"
#include "result/verification.h"
#include "wire/status.h"

enum stance_zero { STANCE_ZERO_GOOD, STANCE_ZERO_OFFSET, STANCE_ZERO_DRIFT };

struct stance {
	const struct config_press *config;
	struct standing standing; /* as the database had it last */
	struct utc_time care;     /* of ball and socket, last; ns 0: none recorded */
	struct level level;       /* of every sample, loaded or not */
	bool has_zero;            /* what the unloaded press read when it last stood still */
	int64_t zero_un;
	bool has_zero_before; /* ... before the last run */
	int64_t zero_before_un;
	enum stance_zero says;      /* of the zero, in a notice */
	int64_t says_un;            /* the reading, or how far it moved: follows them in steps */
	struct status_notices told; /* what the watchers heard last */
};

void stance_init(struct stance *stance, const struct config_press *config);
/* idle: no run is going on. True: half a second of it has been added, so that what is to say of the
 * zero may have changed. */
bool stance_feed(
	struct stance *stance, const struct sample *sample, const int64_t *cells_un, bool idle);
/* What the press reads, if it stood still for two seconds. */
bool stance_level(const struct stance *stance, struct level_mean *mean);
/* A run begins: what the press last read unloaded is what the next run is compared with. */
void stance_remember_zero(struct stance *stance);
/* The press has been zeroed: what was known of its zero is of the past. */
void stance_forget_zero(struct stance *stance);
/* The standing with the time gone by since it was asked for. */
void stance_standing(const struct stance *stance, struct utc_time now, struct standing *standing);
/* The notices now; idle: nothing bears. specimen: the one seated, or NULL. */
void stance_notices(const struct stance *stance, const struct specimen *specimen, bool idle,
	struct utc_time now, struct status_notices *notices);

#endif
