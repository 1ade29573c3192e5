/* SPDX-License-Identifier: MIT
 *
 * How late the loop is: a turn that takes longer than LATENESS_NS, or a timer that is served so
 * much too late, is a line in the log. Readings that came meanwhile got their stamps late.
 *
 * Costs two looks at the clock a turn, and never wakes the loop.
 */
#ifndef DAEMON_LATENESS_H
#define DAEMON_LATENESS_H

#include <stdint.h>
#include <uv.h>

/* Ten times what the longest callback may take. */
#define LATENESS_NS (INT64_C(100) * 1000 * 1000)

struct lateness {
	uv_prepare_t before; /* runs before the loop waits */
	uv_check_t after;    /* and when it has served what it waited for */
	int64_t due_ns;      /* it was to wait no longer than until then; INT64_MAX: not known */
	int64_t awake_ns;    /* since then it is at work; 0: it has not waited yet */
	int64_t worst_ns;
};

void lateness_init(struct lateness *lateness, uv_loop_t *loop);
/* Run the loop until the handles are closed. */
void lateness_stop(struct lateness *lateness);

#endif
