/* SPDX-License-Identifier: MIT
 *
 * The daemon's presses, cells and lines as they are, with nothing around them that could differ
 * from one time to the next: no device, no thread, no clock but the loop's virtual ones. A port is
 * a file for its name and its lock, and a pair of sockets for its bytes; the writer's work is done
 * between two turns of the loop; what watchers would hear is kept. One at a time.
 */
#ifndef TESTS_UNIT_DAEMON_VIRTUAL_H
#define TESTS_UNIT_DAEMON_VIRTUAL_H

#include "store/store.h"
#include "virtual_loop.h"
#include "wire/status.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum { VIRTUAL_PORTS_MAX = 64, VIRTUAL_PATH_SIZE = 96 };

struct virtual
{
	char folder[64];
	char database[VIRTUAL_PATH_SIZE];
	struct store *store; /* the writer's */
	size_t press_count;
	struct press *presses[32];
};

/* For cmocka. */
int virtual_setup(void **state);
int virtual_teardown(void **state);
#define VIRTUAL_TEST(test) cmocka_unit_test_setup_teardown(test, virtual_setup, virtual_teardown)

/* Ports are named by the config: "device = port-N". Each is there from the beginning, and none is
 * open before virtual_open. */
void virtual_start(struct virtual *all, const char *config, size_t port_count);
void virtual_open(struct virtual *all);
void virtual_stop(struct virtual *all);

/* The cell's end of a port: bytes that nobody holds open are lost, as with a real indicator. */
void virtual_send(size_t port, const char *bytes, size_t length);
/* What the daemon has asked since the last call. */
size_t virtual_asked(size_t port, unsigned char *bytes, size_t size);
bool virtual_is_open(size_t port);
/* The cable, and another program that holds the port's lock. */
void virtual_unplug(size_t port);
void virtual_plug(size_t port);
bool virtual_lock(size_t port);
void virtual_unlock(size_t port);

/* By the wall clock. */
struct utc_time virtual_now(void);
/* Everything that watchers would have heard since virtual_start. */
const char *virtual_heard(void);
void virtual_cell(const struct virtual *all, size_t press, size_t cell, struct status_cell *status);

/* ---- what is in the database */

/* So many runs, all closed, and the same when they are judged again. */
void virtual_check_runs(const struct virtual *all, size_t expected);
/* A closed one; until the next call. */
const struct run_record *virtual_run(const struct virtual *all, int64_t run);
bool virtual_has_event(const struct run_record *record, enum event_kind kind);

#endif
