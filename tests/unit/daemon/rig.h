/* SPDX-License-Identifier: MIT
 *
 * The whole daemon in a process of its own, between a pseudo terminal that a test writes to as its
 * press and a control socket that it reads; and what the database has after it.
 */
#ifndef TESTS_UNIT_DAEMON_RIG_H
#define TESTS_UNIT_DAEMON_RIG_H

#include "base/clocks.h"
#include "store/store.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <sys/types.h>

/* Everything that is waited for is there long before, or will never come. */
#define RIG_PATIENCE_NS (20 * CLOCKS_NS_PER_S)

struct rig {
	char folder[64];
	char device[96];
	char database[96];
	char socket[96];
	char config[96];
	int master;
	int second; /* master of a second cell; -1: none */
	size_t spoken, lines;
	pid_t daemon; /* 0: none runs */
	int client;
	size_t length;
	char heard[64 * 1024];
	int64_t next_ns;        /* when the press speaks next */
	const char *unit;       /* what it says that it sends */
	const char *other_unit; /* every second time; NULL: never */
	double load_kn;         /* what it says */
	double step_kn;         /* how much more with each reading */
	double stop_kn;         /* where it stops; at 0 or below with a negative step */
};

/* For cmocka: a rig in a folder of its own, with one cell plugged in and no daemon yet. */
int rig_setup(void **state);
int rig_teardown(void **state);
#define RIG_TEST(test) cmocka_unit_test_setup_teardown(test, rig_setup, rig_teardown)

void rig_plug(struct rig *rig);
void rig_unplug(struct rig *rig);
/* Before the daemon starts. */
void rig_add_second_cell(struct rig *rig);

/* ---- the daemon */

/* Starts the daemon, connects and watches. */
void rig_start(struct rig *rig);
/* And waits until it shows the press. */
void rig_start_idle(struct rig *rig);
void rig_stop(struct rig *rig, int number, int expected);
/* One more, with the same configuration. */
pid_t rig_spawn(const struct rig *rig);
/* Sends the signal and waits for the end: its exit code, or 128 and the signal's number. */
int rig_end(pid_t pid, int number);

/* ---- what it says */

/* Waits until something is to be heard or the press has spoken. */
void rig_pass_time(struct rig *rig);
/* Waits for a line that holds the text, forgets everything up to its end, and returns it. */
const char *rig_await(struct rig *rig, const char *text);
/* The same; and the line must hold what is wanted. */
const char *rig_hear(struct rig *rig, const char *text, const char *wanted);
void rig_forget(struct rig *rig);
/* Sends a request that must be granted. */
void rig_ask(struct rig *rig, const char *line);
/* Registers the specimen and seats it. */
void rig_seat(struct rig *rig, const char *id);

/* ---- the press */

/* From now on that much more with each reading, until that load is reached. */
void rig_ramp(struct rig *rig, double load_kn, double step_kn);
void rig_await_load(struct rig *rig);
/* Ramps, and waits until it is there. */
void rig_load_to(struct rig *rig, double load_kn, double step_kn);
/* The same, and on the way there a run is opened. */
void rig_begin_run(struct rig *rig, double load_kn, double step_kn);

/* ---- what is in the database */

/* A run that is closed and passes the audit; the caller frees it. */
struct run_record *rig_load_run(const struct rig *rig, int64_t run);
bool rig_has_event(const struct run_record *record, enum event_kind kind);

struct span {
	int64_t first_ns, last_ns;
};

/* Of a run's readings. */
struct span rig_span(const struct rig *rig, int64_t run);

#endif
