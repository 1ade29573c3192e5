/* SPDX-License-Identifier: MIT
 *
 * Notices are made anew each time; whoever sends them compares.
 */
#include "stance.h"

#include <assert.h>
#include <stdio.h>
#include <stdlib.h>

/* What moves by more than this part of the contact load within two seconds is being loaded. */
enum { STEADY_PART = 4 };

void stance_init(struct stance *stance, const struct config_press *config)
{
	*stance = (struct stance){.config = config};
	level_init(&stance->level, config->cell_count);
}

bool stance_feed(struct stance *stance, const struct sample *sample, const int64_t *cells_un)
{
	size_t before = stance->level.total;

	level_feed(&stance->level, sample, cells_un);
	return stance->level.total != before;
}

bool stance_level(const struct stance *stance, struct level_mean *mean)
{
	return level_read(
		&stance->level, LEVEL_BLOCKS, stance->config->contact_un / STEADY_PART, mean);
}

void stance_remember_zero(struct stance *stance)
{
	struct level_mean mean;

	if (!stance_level(stance, &mean) || llabs(mean.load_un) >= stance->config->contact_un)
		return;
	stance->has_zero_before = true;
	stance->zero_before_un = mean.load_un;
}

void stance_standing(const struct stance *stance, struct utc_time now, struct standing *standing)
{
	*standing = stance->standing;
	if (standing->kind == STANDING_VALID && now.ns >= standing->due.ns)
		standing->kind = STANDING_OVERDUE;
}

static void add(struct status_notices *notices, const struct message *text)
{
	assert(notices->count < STATUS_NOTICES_MAX);
	snprintf(notices->texts[notices->count++], STATUS_TEXT_SIZE, "%.*s", STATUS_TEXT_SIZE - 1,
		text->text);
}

static double kilonewton(int64_t load_un)
{
	return (double)load_un * 1e-9;
}

static void add_zero(const struct stance *stance, struct status_notices *notices)
{
	const struct config_press *config = stance->config;
	int64_t limit_un = config->zero_limit_un, drift_limit_un = config->drift_limit_un;
	struct level_mean mean;
	struct message text;

	if (!stance_level(stance, &mean))
		return;
	int64_t drift_un = mean.load_un - stance->zero_before_un;
	if (limit_un > 0 && llabs(mean.load_un) > limit_un) {
		message_set(&text,
			"the unloaded press reads %.3f kN, beyond %.3f kN: clear the block, or "
			"zero "
			"it (ramplog zero %s)",
			kilonewton(mean.load_un), kilonewton(limit_un), config->section.name);
		add(notices, &text);
	} else if (drift_limit_un > 0 && stance->has_zero_before &&
		   llabs(drift_un) > drift_limit_un) {
		message_set(&text,
			"the zero has moved by %.3f kN since the last run, beyond %.3f kN",
			kilonewton(drift_un), kilonewton(drift_limit_un));
		add(notices, &text);
	}
}

void stance_notices(const struct stance *stance, const struct specimen *specimen, bool idle,
	struct utc_time now, struct status_notices *notices)
{
	struct standing standing;
	struct message text;

	*notices = (struct status_notices){.count = 0};
	if (idle)
		add_zero(stance, notices);
	if (specimen && !bearing_fits(&stance->config->block, specimen, &text))
		add(notices, &text);
	stance_standing(stance, now, &standing);
	if (!standing_reportable(&standing, 0, &text))
		add(notices, &text);
	if (upkeep_care_is_due(stance->care, now, &text))
		add(notices, &text);
}
