/* SPDX-License-Identifier: MIT
 *
 * Plays what a daemon says to the monitor, and compares the screen of 80 x 24 with the expected
 * one: NAME.lines goes in, NAME.screen must come out. The screen is read back from ncurses itself,
 * so that nothing depends on a terminal or on time. RAMPLOG_SCREENS_WRITE=1 writes the expected
 * screens anew; look at each of them before you commit it.
 */
#include "unit/check.h"

#include "monitor_all.h"
#include "monitor_screen.h"

#include <curses.h>
#include <locale.h>
#include <stdlib.h>
#include <string.h>

enum { ROWS = 24, COLUMNS = 80, SCREEN_SIZE = ROWS * (COLUMNS * 4 + 1) + 1 };

static const char *folder;
static struct monitor_state state;

static FILE *open_case(const char *name, const char *extension, const char *mode)
{
	char path[500];
	snprintf(path, sizeof(path), "%s/%s.%s", folder, name, extension);
	FILE *file = fopen(path, mode);
	if (!file)
		fail_msg("%s cannot be opened", path);
	return file;
}

/* Lines that start with # are comments; "!away" is the daemon hanging up. */
static void play(const char *name)
{
	char line[4096];
	struct monitor_news news;
	FILE *file = open_case(name, "lines", "r");
	monitor_state_init(&state, NULL);
	monitor_state_connected(&state);
	while (fgets(line, sizeof(line), file)) {
		line[strcspn(line, "\n")] = '\0';
		if (strcmp(line, "!away") == 0)
			monitor_state_away(
				&state, "ramplogd on /run/ramplog/control.sock: it hung up");
		else if (line[0] && line[0] != '#')
			monitor_state_line(&state, line, strlen(line), &news);
	}
	fclose(file);
}

/* The screen as UTF-8 text, without the blanks at the lines' ends. */
static void read_screen(char *screen)
{
	size_t length = 0;
	for (int row = 0; row < LINES; row++) {
		wchar_t wide[COLUMNS * 4];
		int count = mvinnwstr(row, 0, wide, COLUMNS);
		while (count > 0 && wide[count - 1] == L' ')
			count--;
		wide[count > 0 ? count : 0] = L'\0';
		length += wcstombs(screen + length, wide, SCREEN_SIZE - length);
		screen[length++] = '\n';
	}
	screen[length] = '\0';
}

static void check_screen(const char *name)
{
	char screen[SCREEN_SIZE], expected[SCREEN_SIZE];
	read_screen(screen);
	if (getenv("RAMPLOG_SCREENS_WRITE")) {
		FILE *out = open_case(name, "screen", "w");
		fputs(screen, out);
		fclose(out);
	}
	FILE *in = open_case(name, "screen", "r");
	size_t length = fread(expected, 1, sizeof(expected) - 1, in);
	fclose(in);
	expected[length] = '\0';
	assert_string_equal(screen, expected);
}

static void screen_case(void **context)
{
	const char *name = *context;
	resizeterm(ROWS, COLUMNS);
	play(name);
	monitor_screen_draw(&state);
	check_screen(name);
}

static void help(void **context)
{
	(void)context;
	resizeterm(ROWS, COLUMNS);
	monitor_screen_draw_help();
	check_screen("help");
}

/* Everything in full, where the screen has room for two notices cut at its edge. */
static void all_notices(void **context)
{
	(void)context;
	resizeterm(ROWS, COLUMNS);
	play("all");
	monitor_all_draw(&state);
	check_screen("all");
	/* nothing beyond a terminal of any size */
	for (int size = 1; size < 30; size++) {
		resizeterm(size, 3 * size);
		monitor_all_draw(&state);
	}
	resizeterm(ROWS, COLUMNS);
}

static void too_small(void **context)
{
	char screen[SCREEN_SIZE];
	(void)context;
	play("too-fast");
	resizeterm(10, 40);
	monitor_screen_draw(&state);
	read_screen(screen);
	assert_non_null(strstr(screen, "needs 80 x 24, this is 40 x 10"));
	resizeterm(1, 1);
	monitor_screen_draw(&state);
}

static void large(void **context)
{
	(void)context;
	play("too-fast");
	resizeterm(60, 200);
	monitor_screen_draw(&state);
	resizeterm(ROWS, COLUMNS);
	monitor_screen_draw(&state);
	check_screen("too-fast");
}

#define SCREEN(name) \
	{ \
#name ": " name, screen_case, NULL, NULL, (void *)(uintptr_t)(name) \
	}

int main(int argc, char **argv)
{
	const struct CMUnitTest tests[] = {
		SCREEN("start"),
		SCREEN("idle"),
		SCREEN("band-ahead"),
		SCREEN("too-fast"),
		SCREEN("yielding"),
		SCREEN("after"),
		SCREEN("inch-pound"),
		SCREEN("trouble"),
		SCREEN("away"),
		SCREEN("notices"),
		cmocka_unit_test(help),
		cmocka_unit_test(all_notices),
		cmocka_unit_test(too_small),
		cmocka_unit_test(large),
	};
	struct message why;
	folder = argc > 1 ? argv[1] : ".";
	setenv("TERM", "xterm", 1);
	setenv("NO_COLOR", "1", 1);
	if (!setlocale(LC_ALL, "C.UTF-8"))
		return 77; /* meson: skipped */
	FILE *terminal = fopen("/dev/null", "r+");
	if (!terminal || !monitor_screen_open(terminal, terminal, &why)) {
		fprintf(stderr, "the screen cannot be opened\n");
		return 1;
	}
	int failed = cmocka_run_group_tests(tests, NULL, NULL);
	endwin();
	return failed;
}
