/* SPDX-License-Identifier: MIT
 *
 * 80 x 24 at the least; larger terminals give the curve the room, and the load larger digits.
 */
#include "monitor_screen.h"

#include "draw/big_digits.h"
#include "monitor_parts.h"

#include <curses.h>
#include <langinfo.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <unistd.h>

enum {
	COLUMNS_LEAST = 80,
	ROWS_LEAST = 24,
	LEFT = MONITOR_PARTS_LEFT,
	SIDE_WIDTH = 30,
	LINE_SIZE = MONITOR_PARTS_LINE_SIZE,
	ESCAPE_DELAY_MS = 25,
	LARGE_COLUMNS = 140, /* from here on the digits are twice as large */
	LARGE_ROWS = 40,
};

static struct monitor_layout lay_out(void)
{
	struct monitor_layout layout = {.rows = LINES, .columns = COLS};
	layout.scale = COLS >= LARGE_COLUMNS && LINES >= LARGE_ROWS ? 2 : 1;
	layout.side = COLS - SIDE_WIDTH;
	layout.advice = MONITOR_PARTS_ROW_LOAD + BIG_DIGITS_ROWS * (int)layout.scale + 1;
	layout.rate = layout.advice + 2;
	layout.curve = layout.rate + 2;
	layout.event = LINES - 3;
	layout.style =
		strcmp(nl_langinfo(CODESET), "UTF-8") == 0 ? TEXT_PLOT_UTF8 : TEXT_PLOT_ASCII;
	return layout;
}

bool monitor_screen_open(FILE *out, FILE *in, struct message *why)
{
	/* initscr() ends the program where it does not know the terminal; newterm() does not. */
	if (!newterm(NULL, out, in))
		return message_set(why,
			"the terminal type '%s' is not known here; use --plain, or set TERM",
			getenv("TERM") ? getenv("TERM") : "");
	set_escdelay(ESCAPE_DELAY_MS);
	cbreak();
	noecho();
	nodelay(stdscr, TRUE);
	keypad(stdscr, TRUE);
	curs_set(0);
	const char *no_color = getenv("NO_COLOR");
	if (!(no_color && no_color[0]) && has_colors()) {
		start_color();
		use_default_colors();
		init_pair(MONITOR_PARTS_PAIR_WARNING, COLOR_YELLOW, -1);
	}
	return true;
}

void monitor_screen_close(void)
{
	endwin();
}

void monitor_screen_resize(void)
{
	struct winsize size;
	if (ioctl(STDOUT_FILENO, TIOCGWINSZ, &size) == 0 && size.ws_row > 0 && size.ws_col > 0)
		resizeterm(size.ws_row, size.ws_col);
	clearok(curscr, TRUE);
}

enum monitor_key monitor_screen_key(void)
{
	switch (getch()) {
	case ERR:
		return MONITOR_KEY_NONE;
	case 'q':
	case 'Q':
		return MONITOR_KEY_QUIT;
	case '?':
	case 'h':
		return MONITOR_KEY_HELP;
	case '\t':
		return MONITOR_KEY_NEXT;
	case ' ': /* the largest keys: a wet glove hits them */
	case '\n':
	case '\r':
	case KEY_ENTER:
		return MONITOR_KEY_ALL;
	default:
		return MONITOR_KEY_OTHER;
	}
}

static void draw_keys(const struct monitor_layout *layout, const struct monitor_state *state)
{
	char line[LINE_SIZE];
	const struct monitor_press *press = monitor_state_shown(state);
	char all[64] = "";
	if (press && press->status.notices.count > 0)
		snprintf(all, sizeof(all), "   Space all notices (%zu)",
			press->status.notices.count);
	snprintf(line, sizeof(line), "q quit   ? help and cautions%s%s", all,
		state->press_count > 1 ? "   Tab next press" : "");
	monitor_parts_put(layout->rows - 1, LEFT + 1, layout->columns, line);
}

static void draw_away(const struct monitor_layout *layout, const struct monitor_state *state)
{
	char line[LINE_SIZE];
	snprintf(line, sizeof(line), " NO LIVE DATA: %s ", state->away.text);
	attron(A_BOLD | A_REVERSE);
	monitor_parts_put(layout->advice, LEFT + 1, layout->columns, line);
	attroff(A_BOLD | A_REVERSE);
	monitor_parts_put(layout->advice + 1, LEFT + 2, layout->columns,
		"what the press does now is not seen here; trying again");
}

/* True when the terminal is large enough; else it says so. */
static bool large_enough(void)
{
	char line[LINE_SIZE];
	if (LINES >= ROWS_LEAST && COLS >= COLUMNS_LEAST)
		return true;
	snprintf(line, sizeof(line), "needs %d x %d, this is %d x %d", COLUMNS_LEAST, ROWS_LEAST,
		COLS, LINES);
	monitor_parts_put(0, 0, COLS, line);
	monitor_parts_put(1, 0, COLS, "enlarge it, or q and --plain");
	return false;
}

void monitor_screen_draw(const struct monitor_state *state)
{
	const struct monitor_layout layout = lay_out();
	const struct monitor_press *press = monitor_state_shown(state);
	erase();
	if (large_enough()) {
		if (press)
			monitor_parts_draw(&layout, state, press);
		if (!state->connected)
			draw_away(&layout, state);
		else if (!press)
			monitor_parts_put(layout.advice, LEFT + 1, COLS,
				state->known ? "the daemon has no press; see its configuration"
					     : "connected; waiting for the daemon's first word");
		draw_keys(&layout, state);
	}
	refresh();
}

void monitor_screen_draw_help(void)
{
	static const char *const lines[] = {
		"ramplog monitor",
		"",
		"  q      quit (the daemon goes on recording)",
		"  Tab    the next press",
		"  Space  all that should be known of the press, in full; Enter too",
		"  ?      this page; any key leaves it",
		"",
		"The bar shows the stress rate: the band that must hold stands between [ and ],",
		"the pointer below it is the rate now. The band must hold in the latter half;",
		"while the specimen yields, leave the valve alone.",
		"",
		"Cautions",
		"  Breaking concrete hurts people: it throws fragments, without warning.",
		"  Keep the guard closed and wear eye protection whenever there is load.",
		"  Keep your hands out from between the platens and stand aside.",
		"  A cracked specimen that still stands under load can let go late.",
		"  ramplog only listens to the press. It never drives it, it stops nothing, and",
		"  nothing shown here means that it is safe to reach in.",
		"  The press maker's instructions, local rules and licensed practice go first.",
	};
	erase();
	for (size_t i = 0; i < sizeof(lines) / sizeof(*lines); i++)
		monitor_parts_put((int)i + 1, LEFT + 1, COLS, lines[i]);
	refresh();
}
