/* SPDX-License-Identifier: MIT
 *
 * The loop's turn in libuv 1.44: prepare, wait, callbacks of what became ready, check, timers. It
 * may wait as long as the next timer allows, so only what is beyond that counts; when it woke is
 * what uv_now says until the next turn. From then to the next prepare it works.
 *
 * Not seen: a process that was stopped while it waited without a timer; there the readings' own
 * times show the gap.
 */
#include "lateness.h"

#include "log.h"
#include "now.h"

static void report(struct lateness *lateness, int64_t late_ns, const char *what)
{
	if (late_ns > lateness->worst_ns)
		lateness->worst_ns = late_ns;
	if (late_ns > LATENESS_NS)
		log_line(LOG_WARNING,
			"the loop was late by %.0f ms (%s): readings that came meanwhile are "
			"stamped late; see what else this machine does",
			(double)late_ns / (double)CLOCKS_NS_PER_MS, what);
}

static void on_before(uv_prepare_t *prepare)
{
	struct lateness *lateness = prepare->data;
	int64_t now_ns = now_mono().ns;

	if (lateness->awake_ns)
		report(lateness, now_ns - lateness->awake_ns, "at work");
	/* It says 0 as well while a descriptor is new to the loop: that tells nothing. */
	int timeout_ms = uv_backend_timeout(prepare->loop);
	lateness->due_ns = timeout_ms > 0 ? now_ns + timeout_ms * CLOCKS_NS_PER_MS : INT64_MAX;
}

static void on_after(uv_check_t *check)
{
	struct lateness *lateness = check->data;

	lateness->awake_ns = (int64_t)uv_now(check->loop) * CLOCKS_NS_PER_MS;
	if (lateness->awake_ns > lateness->due_ns)
		report(lateness, lateness->awake_ns - lateness->due_ns, "held up");
}

void lateness_init(struct lateness *lateness, uv_loop_t *loop)
{
	*lateness = (struct lateness){.due_ns = INT64_MAX};
	uv_prepare_init(loop, &lateness->before);
	uv_check_init(loop, &lateness->after);
	lateness->before.data = lateness->after.data = lateness;
	uv_prepare_start(&lateness->before, on_before);
	uv_check_start(&lateness->after, on_after);
	/* They serve the loop and do not keep it alive. */
	uv_unref((uv_handle_t *)&lateness->before);
	uv_unref((uv_handle_t *)&lateness->after);
}

void lateness_stop(struct lateness *lateness)
{
	uv_close((uv_handle_t *)&lateness->before, NULL);
	uv_close((uv_handle_t *)&lateness->after, NULL);
}
