/* SPDX-License-Identifier: MIT
 *
 * What holds for a press at a time: whether its loads may be reported, and what upkeep is due.
 */
#include "result/verification.h"

#include "base/units.h"

#include <stdio.h>
#include <string.h>

static const char *const upkeep_names[] = {
	[UPKEEP_RELOCATION] = "relocation",
	[UPKEEP_REPAIR] = "repair",
	[UPKEEP_DOUBT] = "doubt",
	[UPKEEP_SOCKET_CARE] = "socket_care",
};

static const char *const standing_names[] = {
	[STANDING_NEVER] = "never",
	[STANDING_VALID] = "valid",
	[STANDING_OVERDUE] = "overdue",
	[STANDING_FAILED] = "failed",
	[STANDING_VOID] = "void",
	[STANDING_UNKNOWN] = "unknown",
};

const char *upkeep_text(enum upkeep upkeep)
{
	return upkeep_names[upkeep];
}

bool upkeep_parse(const char *text, enum upkeep *upkeep)
{
	for (size_t i = 0; i < sizeof upkeep_names / sizeof upkeep_names[0]; i++) {
		if (strcmp(upkeep_names[i], text) != 0)
			continue;
		*upkeep = (enum upkeep)i;
		return true;
	}
	return false;
}

const char *standing_kind_text(enum standing_kind kind)
{
	return standing_names[kind];
}

bool standing_kind_parse(const char *text, enum standing_kind *kind)
{
	for (size_t i = 0; i < sizeof standing_names / sizeof standing_names[0]; i++) {
		if (strcmp(standing_names[i], text) != 0)
			continue;
		*kind = (enum standing_kind)i;
		return true;
	}
	return false;
}

void standing_at(struct standing *standing, const struct verification *last,
	const struct standing_break *broken, struct utc_time now)
{
	*standing = (struct standing){.kind = STANDING_NEVER};
	if (!last)
		return;
	standing->verification = last->number;
	standing->verified = last->verified;
	standing->due = clocks_utc_months_later(last->verified, VERIFICATION_MONTHS);
	standing->low_un = last->low_un;
	standing->high_un = last->high_un;
	standing->kind = STANDING_VALID;
	if (!last->passed) {
		standing->kind = STANDING_FAILED;
	} else if (broken && broken->at.ns > last->verified.ns && broken->at.ns <= now.ns) {
		standing->kind = STANDING_VOID;
		snprintf(standing->note, sizeof standing->note, "%s%s%s",
			upkeep_text(broken->upkeep), broken->note[0] ? ": " : "", broken->note);
	} else if (now.ns >= standing->due.ns) {
		standing->kind = STANDING_OVERDUE;
	}
}

/* The day, which is what a person reads of a certificate. */
static void day_text(struct utc_time time, char text[CLOCKS_UTC_TEXT_SIZE])
{
	clocks_utc_text(time, text);
	text[10] = '\0';
}

/* True: nothing is in the way. */
static bool say_standing(const struct standing *standing, struct message *why)
{
	char day[CLOCKS_UTC_TEXT_SIZE];

	switch (standing->kind) {
	case STANDING_VALID:
		return true;
	case STANDING_NEVER:
		return message_set(why, "press not verified: no verification is recorded");
	case STANDING_OVERDUE:
		day_text(standing->due, day);
		return message_set(why, "press not verified: due since %s", day);
	case STANDING_FAILED:
		day_text(standing->verified, day);
		return message_set(why, "press not verified: it failed on %s", day);
	case STANDING_VOID:
		return message_set(why, "press not verified since %s", standing->note);
	case STANDING_UNKNOWN:
		break;
	}
	return message_set(why, "the press's verification was not kept with this run");
}

bool standing_reportable(const struct standing *standing, int64_t maximum_un, struct message *why)
{
	if (!say_standing(standing, why))
		return false;
	if (maximum_un <= 0 || (maximum_un >= standing->low_un && maximum_un <= standing->high_un))
		return true;
	return message_set(why, "%.1f kN lies %s the verified range of %.10g to %.10g kN",
		(double)maximum_un * 1e-9, maximum_un < standing->low_un ? "below" : "above",
		(double)standing->low_un * 1e-9, (double)standing->high_un * 1e-9);
}

bool upkeep_care_is_due(struct utc_time last, struct utc_time now, struct message *why)
{
	char day[CLOCKS_UTC_TEXT_SIZE];

	if (last.ns == 0) {
		message_set(why, "care of ball and socket is due: none is recorded");
		return true;
	}
	struct utc_time due = clocks_utc_months_later(last, UPKEEP_CARE_MONTHS);
	if (now.ns < due.ns)
		return false;
	day_text(due, day);
	message_set(why, "care of ball and socket is due since %s", day);
	return true;
}
