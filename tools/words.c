/* SPDX-License-Identifier: MIT */
#include "words.h"

#include <inttypes.h>
#include <stdio.h>
#include <string.h>

const char *words_verdict(enum verdict verdict)
{
	switch (verdict) {
	case VERDICT_NONE:
		return "nothing to judge";
	case VERDICT_IN_BAND:
		return "in band";
	case VERDICT_OUT_OF_BAND:
		return "OUT OF BAND";
	case VERDICT_UNDETERMINED:
		return "undetermined";
	}
	return "";
}

const char *words_phase(enum phase phase)
{
	switch (phase) {
	case PHASE_IDLE:
		return "idle";
	case PHASE_SEATING:
		return "seating";
	case PHASE_FIRST_HALF:
		return "first half";
	case PHASE_LATTER_HALF:
		return "latter half";
	case PHASE_YIELDING:
		return "yielding";
	case PHASE_DECLINING:
		return "declining";
	case PHASE_RELEASED:
		return "released";
	}
	return "";
}

void words_time(struct utc_time time, char *text)
{
	clocks_utc_text(time, text);
	char *point = strchr(text, '.');
	if (point)
		strcpy(point, "Z");
}

void words_minute(struct utc_time time, char *text)
{
	static const char minute[] = "YYYY-MM-DDTHH:MM";
	clocks_utc_text(time, text);
	text[sizeof minute - 1] = 'Z';
	text[sizeof minute] = '\0';
}

const char *words_fracture(int type)
{
	static const char *const words[] = {
		"",
		"cones on both ends, cracks through the caps less than 25 mm (1 in)",
		"a cone on one end, vertical cracks through the other cap",
		"columnar vertical cracks through both ends, no well-formed cones",
		"diagonal fracture without cracks through the ends",
		"side fractures at top or bottom, as unbonded caps give them",
		"like type 5, but one end of the cylinder is pointed",
	};
	return type >= 1 && type <= 6 ? words[type] : "";
}

bool words_is_marked(const struct run_row *row)
{
	return row->closed && !standing_reportable(&row->standing, row->maximum_un, NULL);
}

void words_put_marked(const struct run_row *row)
{
	struct message why;

	if (row->closed && !standing_reportable(&row->standing, row->maximum_un, &why))
		printf("* run %" PRId64 " is not reportable: %s\n", row->run, why.text);
}
