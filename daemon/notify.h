/* SPDX-License-Identifier: MIT
 *
 * Words to the service manager (sd_notify(3)): ready, stopping, alive. Where none listens, nothing
 * is sent and no timer runs.
 */
#ifndef DAEMON_NOTIFY_H
#define DAEMON_NOTIFY_H

#include <uv.h>

struct notify {
	uv_timer_t timer; /* runs where the manager wants to hear that the loop still turns */
};

void notify_init(struct notify *notify, uv_loop_t *loop);
/* It serves. From now on the watchdog is answered, where one is set. */
void notify_ready(struct notify *notify);
/* It ends: closes the timer; run the loop until that is done. */
void notify_stop(struct notify *notify);

#endif
