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
/* A zero that was said to be beyond a limit is within it again when it is so much nearer. */
enum { LINGER_PART = 8 };
/* A reading that moves by less than this part of the drift limit is no news. */
enum { STEP_PART = 10 };

void stance_init(struct stance *stance, const struct config_press *config)
{
	*stance = (struct stance){.config = config};
	level_init(&stance->level, config->cell_count);
}

static bool is_beyond(int64_t load_un, int64_t limit_un, bool said)
{
	int64_t most_un = said ? limit_un - limit_un / LINGER_PART : limit_un;

	return limit_un > 0 && llabs(load_un) > most_un;
}

/* A reading that wanders about a limit, or in its last digit, must not be news each half second. */
static void judge_zero(struct stance *stance)
{
	const struct config_press *config = stance->config;
	int64_t drift_un = stance->has_zero_before ? stance->zero_un - stance->zero_before_un : 0;
	enum stance_zero says = STANCE_ZERO_GOOD;

	if (is_beyond(stance->zero_un, config->zero_limit_un, stance->says == STANCE_ZERO_OFFSET))
		says = STANCE_ZERO_OFFSET;
	else if (is_beyond(drift_un, config->drift_limit_un, stance->says == STANCE_ZERO_DRIFT))
		says = STANCE_ZERO_DRIFT;
	int64_t load_un = says == STANCE_ZERO_DRIFT ? drift_un : stance->zero_un;
	if (says != stance->says ||
		llabs(load_un - stance->says_un) > config->drift_limit_un / STEP_PART)
		stance->says_un = load_un;
	stance->says = says;
}

/* What the run's own record takes for its zero (result/press_watch.c) stands as still. */
static void find_zero(struct stance *stance)
{
	const struct config_press *config = stance->config;
	int64_t steady_un = press_watch_steady_un(
		config->zero_limit_un, config->drift_limit_un, config->contact_un);
	struct level_mean mean;

	if (!level_read(&stance->level, LEVEL_BLOCKS, steady_un, &mean))
		return;
	stance->has_zero = true;
	stance->zero_un = mean.load_un;
	judge_zero(stance);
}

bool stance_feed(
	struct stance *stance, const struct sample *sample, const int64_t *cells_un, bool idle)
{
	size_t before = stance->level.total;

	level_feed(&stance->level, sample, cells_un);
	if (!idle || stance->level.total == before)
		return false;
	find_zero(stance);
	return true;
}

bool stance_level(const struct stance *stance, struct level_mean *mean)
{
	return level_read(
		&stance->level, LEVEL_BLOCKS, stance->config->contact_un / STEADY_PART, mean);
}

void stance_remember_zero(struct stance *stance)
{
	if (stance->has_zero && llabs(stance->zero_un) < stance->config->contact_un) {
		stance->has_zero_before = true;
		stance->zero_before_un = stance->zero_un;
	}
	/* What it reads after the run is not known before it has stood still again. */
	stance->has_zero = false;
	stance->says = STANCE_ZERO_GOOD;
}

void stance_forget_zero(struct stance *stance)
{
	stance->has_zero = stance->has_zero_before = false;
	stance->says = STANCE_ZERO_GOOD;
	level_init(&stance->level, stance->config->cell_count);
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
	struct message text;

	switch (stance->says) {
	case STANCE_ZERO_GOOD:
		return;
	case STANCE_ZERO_OFFSET:
		message_set(&text,
			"the unloaded press reads %.3f kN, beyond %.3f kN: clear the block, or "
			"zero it (ramplog zero %s)",
			kilonewton(stance->says_un), kilonewton(config->zero_limit_un),
			config->section.name);
		break;
	case STANCE_ZERO_DRIFT:
		message_set(&text,
			"the zero has moved by %.3f kN since the last run, beyond %.3f kN",
			kilonewton(stance->says_un), kilonewton(config->drift_limit_un));
		break;
	}
	add(notices, &text);
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
