/* SPDX-License-Identifier: MIT */
#include "commands.h"

#include "store/method_folder.h"

#include <stddef.h>
#include <stdlib.h>
#include <string.h>

static const struct command table[] = {
	{"assess", "judge a load curve from a file", assess_main},
	{"audit", "derive stored runs again from their readings and check every seal", audit_main},
	{"backup", "copy the database while the daemon runs, and verify the copy", backup_main},
	{"care", "show or enter the care of a press's ball and socket", care_main},
	{"correct", "put right what is on record of a run", correct_main},
	{"due", "list the specimens that are to be tested", due_main},
	{"export", "write the curve of a stored run as CSV or JSON", export_main},
	{"fracture", "enter what the technician saw after a run", fracture_main},
	{"label", "make labels with a code for specimens", label_main},
	{"methods", "list the test methods and check their files", methods_main},
	{"monitor", "watch a press while it loads", monitor_main},
	{"register", "enter a specimen as measured", register_main},
	{"report", "write a report on a set or a run", report_main},
	{"runs", "list the stored runs", runs_main},
	{"seat", "say which specimen is the next in a press", seat_main},
	{"set", "judge companions, and tests of one concrete", set_main},
	{"show", "show everything about one stored run", show_main},
	{"trend", "show how the rates lay in their bands over time", trend_main},
	{"verification", "show, enter or take the verification of a press", verification_main},
	{"zero", "take what an unloaded press reads as its zero", zero_main},
	{NULL, NULL, NULL},
};

const char *commands_method_folder(void)
{
	const char *folder = getenv("RAMPLOG_METHODS");
	return folder && folder[0] ? folder : METHOD_FOLDER_DEFAULT;
}

const struct command *commands_table(void)
{
	return table;
}

const struct command *commands_find(const char *name)
{
	for (const struct command *command = table; command->name; command++) {
		if (strcmp(command->name, name) == 0)
			return command;
	}
	return NULL;
}
