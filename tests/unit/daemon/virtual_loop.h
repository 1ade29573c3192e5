/* SPDX-License-Identifier: MIT
 *
 * A loop in virtual time, in the place of libuv's: timers, descriptors and closing, called in one
 * order only; and the two clocks, which stand still but for loop_run_to and loop_stall. What the
 * daemon asks of libuv and of clock_gettime finds these instead (the linker sees to it).
 */
#ifndef TESTS_UNIT_DAEMON_VIRTUAL_LOOP_H
#define TESTS_UNIT_DAEMON_VIRTUAL_LOOP_H

#include <stdint.h>

/* After every turn: what another thread would do. */
typedef void loop_aside(void *context);

/* The wall clock begins at wall_ns, the other one at a second. */
void loop_begin(int64_t wall_ns, loop_aside *aside, void *context);
/* All handles are closed, and forgotten. */
void loop_finish(void);

int64_t loop_now_ns(void);
/* Everything that is due until then, in the order of its time. */
void loop_run_to(int64_t time_ns);
/* The same, but nothing is looked after meanwhile: the process stood still. */
void loop_stall(int64_t time_ns);
/* Somebody sets the wall clock. */
void loop_set_wall(int64_t by_ns);

#endif
