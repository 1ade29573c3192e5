/* SPDX-License-Identifier: MIT
 *
 * Each sentence is wrapped at its blanks and begins with its mark: `!` for what has to be done
 * something about, a blank for the rest. What finds no room is counted in the last row but one.
 */
#include "monitor_all.h"

#include "monitor_parts.h"

#include <curses.h>
#include <inttypes.h>
#include <string.h>

enum { LEFT = MONITOR_PARTS_LEFT, LINE_SIZE = MONITOR_PARTS_LINE_SIZE, INDENT = 2 };

struct page {
	int row;
	size_t left_out;
};

/* How many bytes go into one row: up to the last blank that fits, or what fits of one long word. */
static size_t fitting(const char *text, size_t most)
{
	size_t length = strlen(text), end = most;
	if (length <= most)
		return length;
	while (end > 0 && text[end] != ' ')
		end--;
	return end > 0 ? end : most;
}

static int rows_of(const char *text, size_t most)
{
	int rows = 0;
	for (; *text; rows++) {
		text += fitting(text, most);
		text += strspn(text, " ");
	}
	return rows;
}

static void put_sentence(struct page *page, bool mark, const char *text)
{
	size_t most = (size_t)(COLS - 2 * LEFT - INDENT - 1);
	char row[LINE_SIZE];
	if (most >= sizeof(row))
		most = sizeof(row) - 1;
	if (page->row + rows_of(text, most) > LINES - 3) {
		page->left_out++;
		return;
	}
	if (mark)
		attron(A_BOLD);
	monitor_parts_put(page->row, LEFT + 1, COLS, mark ? "!" : " ");
	while (*text) {
		size_t length = fitting(text, most);
		snprintf(row, sizeof(row), "%.*s", (int)length, text);
		monitor_parts_put(page->row++, LEFT + 1 + INDENT, COLS, row);
		text += length;
		text += strspn(text, " ");
	}
	attroff(A_BOLD);
}

static void put_cells(struct page *page, const struct monitor_press *press)
{
	char line[LINE_SIZE];
	for (size_t i = 0; i < press->status.cell_count; i++) {
		const struct status_cell *cell = &press->status.cells[i];
		bool trouble = cell->state != CELL_READY || cell->text[0];
		snprintf(line, sizeof(line), "cell %s on %s is %s%s%s", cell->name, cell->device,
			status_cell_text(cell->state), cell->text[0] ? ": " : "", cell->text);
		put_sentence(page, trouble, line);
	}
}

static void put_last_run(struct page *page, const struct monitor_press *press)
{
	char line[LINE_SIZE];
	const struct monitor_result *last = &press->results[0];
	if (press->result_count == 0 || last->reportable)
		return;
	snprintf(line, sizeof(line), "run %" PRId64 " is not reportable: %s", last->run,
		last->why.text);
	put_sentence(page, false, line);
}

static void put_press(struct page *page, const struct monitor_state *state)
{
	const struct monitor_press *press = monitor_state_shown(state);
	char line[LINE_SIZE];
	if (!press) {
		put_sentence(page, true, "the daemon has not named a press yet");
		return;
	}
	snprintf(line, sizeof(line), "press %s", press->status.name);
	monitor_parts_put(page->row, LEFT + 1, COLS, line);
	page->row += 2;
	if (!state->durable)
		put_sentence(page, true,
			"the disk takes no readings: put this right before the next specimen");
	for (size_t i = 0; i < press->status.notices.count; i++)
		put_sentence(page, true, press->status.notices.texts[i]);
	if (press->status.notices.count == 0)
		put_sentence(page, false, "nothing needs to be done before the next run");
	put_cells(page, press);
	put_last_run(page, press);
}

void monitor_all_draw(const struct monitor_state *state)
{
	struct page page = {.row = 1};
	char line[LINE_SIZE];
	erase();
	if (!state->connected) {
		snprintf(line, sizeof(line), "NO LIVE DATA: %s", state->away.text);
		put_sentence(&page, true, line);
	}
	put_press(&page, state);
	if (page.left_out) {
		snprintf(line, sizeof(line), "%zu more: enlarge the terminal", page.left_out);
		monitor_parts_put(LINES - 2, LEFT + 1, COLS, line);
	}
	monitor_parts_put(LINES - 1, LEFT + 1, COLS, "any key goes back   q quit");
	refresh();
}
