/* SPDX-License-Identifier: MIT
 *
 * `ramplog monitor`: the loop. Lines from the daemon's socket go into the state, the state goes to
 * the screen (at most twenty times a second) or to lines of text. When the daemon goes away it is
 * tried again, ever less often, and the first line of a new connection brings the state up to date.
 *
 * The daemon is asked to watch before it is asked for its status: whatever changes in between is
 * then in a line that follows, and nothing is missed.
 */
#include "commands.h"
#include "monitor_all.h"
#include "monitor_history.h"
#include "monitor_plain.h"
#include "monitor_screen.h"
#include "monitor_state.h"
#include "options.h"
#include "wire/request.h"

#include <assert.h>
#include <errno.h>
#include <signal.h>
#include <stdio_ext.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>
#include <uv.h>

enum {
	REDRAW_MS = 50,
	RETRY_MS_LEAST = 250, /* doubled at each failure */
	RETRY_MS_MOST = 5000,
};

struct options {
	const char *socket;
	const char *press; /* NULL: the first one */
	bool plain;
};

enum page { PAGE_PRESS, PAGE_HELP, PAGE_ALL };

struct monitor {
	const struct options *options;
	bool plain;
	uv_loop_t loop;
	uv_pipe_t pipe;
	uv_connect_t connect;
	uv_write_t write;
	uv_timer_t retry, redraw;
	uv_signal_t winch, term, interrupt, hangup;
	uv_poll_t keys;
	char *question; /* owned; being written */
	char input[REQUEST_LINE_MAX];
	size_t input_length;
	uint64_t retry_ms;
	bool was_away; /* said so already, in plain lines */
	enum page page;
	bool ending;
	int code;
	struct monitor_state state;
	struct monitor_news news;
};

/* ---- drawing */

static void draw_now(uv_timer_t *timer)
{
	const struct monitor *monitor = timer->data;
	switch (monitor->page) {
	case PAGE_PRESS:
		monitor_screen_draw(&monitor->state);
		break;
	case PAGE_HELP:
		monitor_screen_draw_help();
		break;
	case PAGE_ALL:
		monitor_all_draw(&monitor->state);
		break;
	}
}

/* Many changes within one interval are one redraw. */
static void draw_soon(struct monitor *monitor)
{
	if (!monitor->plain && !monitor->ending && !uv_is_active((uv_handle_t *)&monitor->redraw))
		uv_timer_start(&monitor->redraw, draw_now, REDRAW_MS, 0);
}

/* ---- the end */

static void close_handle(uv_handle_t *handle, void *context)
{
	(void)context;
	if (!uv_is_closing(handle))
		uv_close(handle, NULL);
}

static void end_monitor(struct monitor *monitor, int code)
{
	if (monitor->ending)
		return;
	monitor->ending = true;
	monitor->code = code;
	uv_walk(&monitor->loop, close_handle, NULL);
}

static void take_signal(uv_signal_t *handle, int number)
{
	struct monitor *monitor = handle->data;
	if (number == SIGWINCH) {
		monitor_screen_resize();
		draw_soon(monitor);
		return;
	}
	end_monitor(monitor, EXIT_DONE);
}

/* Plain lines go to a file or to another program, and one that has read enough (`| head`) is not an
 * error: what it did not want to read is thrown away. */
static void look_at_output(struct monitor *monitor, int error)
{
	if (!ferror(stdout))
		return;
	if (error == EPIPE) {
		__fpurge(stdout);
		clearerr(stdout);
	}
	end_monitor(monitor, error == EPIPE ? EXIT_DONE : EXIT_CANNOT);
}

static void say_connection(struct monitor *monitor)
{
	monitor_plain_put_connection(&monitor->state, stdout);
	look_at_output(monitor, errno);
}

/* ---- the connection */

static void try_connect(struct monitor *monitor);

static void retry_now(uv_timer_t *timer)
{
	try_connect(timer->data);
}

static void pipe_closed(uv_handle_t *handle)
{
	struct monitor *monitor = handle->data;
	if (monitor->ending)
		return;
	uv_timer_start(&monitor->retry, retry_now, monitor->retry_ms, 0);
	monitor->retry_ms *= 2;
	if (monitor->retry_ms > RETRY_MS_MOST)
		monitor->retry_ms = RETRY_MS_MOST;
}

static void lose_connection(struct monitor *monitor, const char *why)
{
	char text[MESSAGE_SIZE];
	if (monitor->ending || uv_is_closing((uv_handle_t *)&monitor->pipe))
		return;
	snprintf(text, sizeof(text), "ramplogd on %s: %s", monitor->options->socket, why);
	monitor_state_away(&monitor->state, text);
	if (monitor->plain && !monitor->was_away)
		say_connection(monitor);
	if (monitor->ending)
		return;
	monitor->was_away = true;
	monitor->input_length = 0;
	uv_close((uv_handle_t *)&monitor->pipe, pipe_closed);
	draw_soon(monitor);
}

static void end_unknown_press(struct monitor *monitor)
{
	/* The reason is said after the screen was given back. */
	if (monitor->state.wanted_missing)
		end_monitor(monitor, EXIT_NO);
}

static void take_line(struct monitor *monitor, const char *line, size_t length)
{
	monitor_state_line(&monitor->state, line, length, &monitor->news);
	if (monitor->news.kind == MONITOR_NEWS_STATUS) {
		monitor->retry_ms = RETRY_MS_LEAST;
		monitor_history_add(&monitor->state);
		end_unknown_press(monitor);
	}
	/* Nobody reads another page while something has to be done. */
	if (monitor->news.kind == MONITOR_NEWS_LIVE &&
		monitor->state.presses[monitor->news.press].live.warning)
		monitor->page = PAGE_PRESS;
	if (!monitor->plain)
		return;
	monitor_plain_put(&monitor->state, &monitor->news, stdout);
	look_at_output(monitor, errno);
}

/* Takes the whole lines out of the input. */
static void take_input(struct monitor *monitor)
{
	char *start = monitor->input, *end;
	size_t rest = monitor->input_length;
	while (!monitor->ending && (end = memchr(start, '\n', rest))) {
		size_t length = (size_t)(end - start);
		take_line(monitor, start, length);
		start = end + 1;
		rest -= length + 1;
	}
	memmove(monitor->input, start, rest);
	monitor->input_length = rest;
	draw_soon(monitor);
}

static void give_buffer(uv_handle_t *handle, size_t suggested, uv_buf_t *buffer)
{
	struct monitor *monitor = handle->data;
	(void)suggested;
	buffer->base = monitor->input + monitor->input_length;
	buffer->len = sizeof(monitor->input) - monitor->input_length;
}

static void take_bytes(uv_stream_t *stream, ssize_t count, const uv_buf_t *buffer)
{
	struct monitor *monitor = stream->data;
	(void)buffer;
	if (count == UV_EOF) {
		lose_connection(monitor, "it hung up");
	} else if (count == UV_ENOBUFS) {
		lose_connection(monitor, "it sent a line that is too long");
	} else if (count < 0) {
		lose_connection(monitor, uv_strerror((int)count));
	} else {
		monitor->input_length += (size_t)count;
		take_input(monitor);
	}
}

static void questions_written(uv_write_t *write, int status)
{
	struct monitor *monitor = write->data;
	free(monitor->question);
	monitor->question = NULL;
	if (status < 0 && status != UV_ECANCELED)
		lose_connection(monitor, uv_strerror(status));
}

/* Both questions as one text; NULL when memory is short. */
static char *write_questions(void)
{
	const struct request watch = {.ask = REQUEST_WATCH, .interval_ms = REDRAW_MS};
	const struct request status = {.ask = REQUEST_STATUS};
	char *first = request_line(&watch), *second = request_line(&status), *both = NULL;
	if (!first || !second || asprintf(&both, "%s%s", first, second) < 0)
		both = NULL;
	free(first);
	free(second);
	return both;
}

static void connected(uv_connect_t *connect, int status)
{
	struct monitor *monitor = connect->data;
	if (status == UV_ECANCELED || monitor->ending)
		return;
	if (status < 0) {
		lose_connection(monitor, uv_strerror(status));
		return;
	}
	monitor->question = write_questions();
	if (!monitor->question) {
		lose_connection(monitor, "not enough memory");
		return;
	}
	monitor_state_connected(&monitor->state);
	if (monitor->plain)
		say_connection(monitor);
	if (monitor->ending)
		return;
	monitor->was_away = false;
	uv_buf_t buffer = uv_buf_init(monitor->question, (unsigned)strlen(monitor->question));
	monitor->write.data = monitor;
	uv_read_start((uv_stream_t *)&monitor->pipe, give_buffer, take_bytes);
	uv_write(&monitor->write, (uv_stream_t *)&monitor->pipe, &buffer, 1, questions_written);
	draw_soon(monitor);
}

static void try_connect(struct monitor *monitor)
{
	uv_pipe_init(&monitor->loop, &monitor->pipe, 0);
	monitor->pipe.data = monitor;
	monitor->connect.data = monitor;
	uv_pipe_connect(&monitor->connect, &monitor->pipe, monitor->options->socket, connected);
}

/* ---- the keyboard */

static void take_keys(uv_poll_t *handle, int status, int events)
{
	struct monitor *monitor = handle->data;
	enum monitor_key key;
	(void)events;
	/* The terminal is gone. */
	if (status < 0) {
		end_monitor(monitor, EXIT_DONE);
		return;
	}
	while ((key = monitor_screen_key()) != MONITOR_KEY_NONE) {
		if (key == MONITOR_KEY_QUIT)
			end_monitor(monitor, EXIT_DONE);
		else if (monitor->page != PAGE_PRESS)
			monitor->page = PAGE_PRESS;
		else if (key == MONITOR_KEY_HELP)
			monitor->page = PAGE_HELP;
		else if (key == MONITOR_KEY_ALL)
			monitor->page = PAGE_ALL;
		else if (key == MONITOR_KEY_NEXT)
			monitor_state_show_next(&monitor->state);
	}
	draw_soon(monitor);
}

/* ---- start and end */

static void watch_signal(struct monitor *monitor, uv_signal_t *handle, int number)
{
	uv_signal_init(&monitor->loop, handle);
	handle->data = monitor;
	uv_signal_start(handle, take_signal, number);
}

static void watch_terminal(struct monitor *monitor)
{
	uv_poll_init(&monitor->loop, &monitor->keys, STDIN_FILENO);
	monitor->keys.data = monitor;
	uv_poll_start(&monitor->keys, UV_READABLE, take_keys);
	watch_signal(monitor, &monitor->winch, SIGWINCH);
}

static void run_monitor(struct monitor *monitor)
{
	int failed = uv_loop_init(&monitor->loop);
	assert(!failed);
	uv_timer_init(&monitor->loop, &monitor->retry);
	uv_timer_init(&monitor->loop, &monitor->redraw);
	monitor->retry.data = monitor;
	monitor->redraw.data = monitor;
	watch_signal(monitor, &monitor->term, SIGTERM);
	watch_signal(monitor, &monitor->interrupt, SIGINT);
	watch_signal(monitor, &monitor->hangup, SIGHUP);
	if (!monitor->plain)
		watch_terminal(monitor);
	try_connect(monitor);
	draw_soon(monitor);
	uv_run(&monitor->loop, UV_RUN_DEFAULT);
	failed = uv_loop_close(&monitor->loop);
	assert(!failed);
}

static error_t parse(int key, char *typed, struct argp_state *state)
{
	struct options *options = state->input;
	switch (key) {
	case ARGP_KEY_INIT:
		state->child_inputs[0] = &options->socket;
		return 0;
	case 'p':
		options->plain = true;
		return 0;
	case ARGP_KEY_ARG:
		if (options->press)
			argp_error(state, "one press at a time; '%s' is one too many", typed);
		options->press = typed;
		return 0;
	default:
		return ARGP_ERR_UNKNOWN;
	}
}

static void say_unknown_press(const char *command, const struct monitor_state *state)
{
	fprintf(stderr, "%s: the daemon has no press '%s'; it has:", command, state->wanted);
	for (size_t i = 0; i < state->press_count; i++)
		fprintf(stderr, " %s", state->presses[i].status.name);
	fputc('\n', stderr);
}

static int monitor_with(const char *command, const struct options *options)
{
	struct monitor *monitor = calloc(1, sizeof(*monitor));
	struct message why;
	if (!monitor) {
		fprintf(stderr, "%s: not enough memory\n", command);
		return EXIT_CANNOT;
	}
	monitor->options = options;
	monitor->plain = options->plain || !isatty(STDOUT_FILENO) || !isatty(STDIN_FILENO);
	monitor->retry_ms = RETRY_MS_LEAST;
	monitor_state_init(&monitor->state, options->press);
	if (!monitor->plain && !monitor_screen_open(stdout, stdin, &why)) {
		fprintf(stderr, "%s: %s\n", command, why.text);
		free(monitor);
		return EXIT_CANNOT;
	}
	/* The daemon may go while something is written to it, the reader of a pipe likewise. */
	signal(SIGPIPE, SIG_IGN);
	run_monitor(monitor);
	if (!monitor->plain)
		monitor_screen_close();
	if (monitor->state.wanted_missing)
		say_unknown_press(command, &monitor->state);
	int code = monitor->code;
	free(monitor->question);
	free(monitor);
	return code;
}

int monitor_main(int argc, char **argv)
{
	static const struct argp_option options_known[] = {
		{"plain", 'p', NULL, 0, "one line per change, for a log or a screen reader", 0},
		{0}};
	const struct argp_child children[] = {{&options_socket, 0, NULL, 0}, {0}};
	const struct argp argp = {options_known, parse, "[PRESS]",
		"Shows a press while it loads: the load, the stress rate against its band, and "
		"what "
		"the daemon warns of. Where standard output is no terminal, one line per change."
		"\v"
		"Keys: q quits, ? shows help and cautions, the space bar all notices in full, Tab "
		"the next press. Nothing that is shown means that it is safe to reach into the "
		"press.",
		children, NULL, NULL};
	struct options options = {.press = NULL};
	argp_parse(&argp, argc, argv, 0, NULL, &options);
	return monitor_with(argv[0], &options);
}
