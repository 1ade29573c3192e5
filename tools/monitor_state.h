/* SPDX-License-Identifier: MIT
 *
 * What the monitor knows: lines from the daemon go in, a state comes out that the screen shows, and
 * with each line the piece of news in it. Pure: no socket, no clock, no terminal.
 */
#ifndef TOOLS_MONITOR_STATE_H
#define TOOLS_MONITOR_STATE_H

#include "base/message.h"
#include "result/outcome.h"
#include "wire/live.h"

enum {
	MONITOR_PRESSES_MAX = 16,
	MONITOR_TRACK_MAX = 2048, /* points of the curve; thinned by halves beyond */
	MONITOR_RESULTS_MAX = 8,
};

struct monitor_point {
	int64_t time_ns;
	int64_t load_un;
};

/* A run that is over. */
struct monitor_result {
	int64_t run;
	char specimen[SPECIMEN_NAME_SIZE]; /* "" none */
	char method[SPECIMEN_METHOD_SIZE];
	double maximum_newton;
	char strength[OUTCOME_REPORTED_SIZE]; /* "" none */
	enum verdict verdict;
	enum end end;
	int fracture; /* 0: not entered yet */
	bool reportable;
	struct message why; /* it is not reportable */
};

struct monitor_press {
	struct status_press status; /* phase, seated and run are kept up to date */
	struct live_run run; /* the open run or the last one; run.run 0: none was seen open */
	bool has_live;
	struct live live;
	bool has_event;
	struct event event; /* the newest of the run */
	struct monitor_point track[MONITOR_TRACK_MAX];
	size_t track_count;
	size_t track_stride, track_skipped;                 /* every stride-th sample is kept */
	struct monitor_result results[MONITOR_RESULTS_MAX]; /* newest first */
	size_t result_count;
};

struct monitor_state {
	bool connected;
	bool known;                      /* the daemon said which presses there are */
	struct message away;             /* why not connected */
	char wanted[SPECIMEN_NAME_SIZE]; /* the press asked for; "" the first one */
	bool wanted_missing;             /* ... which the daemon does not have */
	char database[STATUS_PATH_SIZE];
	bool durable;
	struct monitor_press presses[MONITOR_PRESSES_MAX];
	size_t press_count;
	size_t shown; /* index of the press on the screen */
};

enum monitor_news_kind {
	MONITOR_NEWS_NONE,   /* nothing that a log would hold */
	MONITOR_NEWS_STATUS, /* presses, cells and what is seated are known (again) */
	MONITOR_NEWS_LIVE,   /* phase or advice changed */
	MONITOR_NEWS_EVENT,
	MONITOR_NEWS_RUN_OPEN,
	MONITOR_NEWS_RUN_CLOSED,
	MONITOR_NEWS_FRACTURE,
	MONITOR_NEWS_CELL,
	MONITOR_NEWS_SEATED,
	MONITOR_NEWS_DURABLE,
	MONITOR_NEWS_NOTICES,
	MONITOR_NEWS_REFUSED, /* the daemon refused a question, or sent what is no line */
};

struct monitor_news {
	enum monitor_news_kind kind;
	size_t press;                  /* index; where the news is about one */
	bool phase_changed;            /* MONITOR_NEWS_LIVE */
	bool advice_changed;           /* MONITOR_NEWS_LIVE */
	struct status_cell cell;       /* MONITOR_NEWS_CELL */
	struct live_fracture fracture; /* MONITOR_NEWS_FRACTURE */
	struct message text;           /* MONITOR_NEWS_REFUSED */
};

/* wanted: the press to show; NULL or "": the first one that the daemon names. */
void monitor_state_init(struct monitor_state *state, const char *wanted);

/* One line from the daemon, without its LF. */
void monitor_state_line(
	struct monitor_state *state, const char *line, size_t length, struct monitor_news *news);

/* The connection is there, or is gone (why in words, for a person). What was live is forgotten. */
void monitor_state_connected(struct monitor_state *state);
void monitor_state_away(struct monitor_state *state, const char *why);

/* A stored run, from the database: older than those that came over the socket. */
void monitor_state_add_result(
	struct monitor_state *state, size_t press, const struct monitor_result *result);

/* The press on the screen; NULL while none is known. */
const struct monitor_press *monitor_state_shown(const struct monitor_state *state);
void monitor_state_show_next(struct monitor_state *state);

/* The band that holds for the press, from the open run or else from method and seated specimen;
 * false where none is known. In Pa/s. */
bool monitor_press_band(const struct monitor_press *press, double *low, double *high);
/* The name of the method in force: the run's, else the seated specimen's, else the press's. */
const char *monitor_press_method(const struct monitor_press *press);
bool monitor_press_inch_pound(const struct monitor_press *press);
/* The specimen being loaded, or the one seated; NULL if there is none. */
const struct specimen *monitor_press_specimen(const struct monitor_press *press);

#endif
