/* SPDX-License-Identifier: MIT */
#include "monitor_history.h"

#include "store/store.h"

#include <stdio.h>
#include <string.h>

struct history {
	struct monitor_state *state;
	size_t press;
};

static bool take_row(void *context, const struct run_row *row)
{
	const struct history *history = context;
	struct monitor_result result = {.run = row->run};
	if (!row->closed)
		return true;
	snprintf(result.specimen, sizeof(result.specimen), "%s", row->specimen);
	snprintf(result.method, sizeof(result.method), "%s", row->method);
	snprintf(result.strength, sizeof(result.strength), "%s", row->strength_reported);
	result.maximum_newton = (double)row->maximum_un / (double)UNITS_UN_PER_N;
	result.verdict = row->verdict;
	result.end = row->end;
	result.fracture = row->fracture;
	result.reportable = standing_reportable(&row->standing, row->maximum_un, &result.why);
	monitor_state_add_result(history->state, history->press, &result);
	return true;
}

void monitor_history_add(struct monitor_state *state)
{
	struct store *store;
	if (!state->database[0] ||
		store_open(&store, state->database, STORE_READ, NULL) != STORE_OK)
		return;
	for (size_t i = 0; i < state->press_count; i++) {
		struct run_filter filter = {.limit = MONITOR_RESULTS_MAX, .newest_first = true};
		struct history history = {.state = state, .press = i};
		snprintf(filter.press, sizeof(filter.press), "%s", state->presses[i].status.name);
		store_runs_each(store, &filter, take_row, &history);
	}
	store_close(store);
}
