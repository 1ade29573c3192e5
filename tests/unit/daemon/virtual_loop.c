/* SPDX-License-Identifier: MIT
 *
 * At one time: timers that are due, then descriptors that are ready, then handles that are closed,
 * each in the order in which they were made; again until there is nothing left to do.
 */
#include "virtual_loop.h"

#include "base/clocks.h"
#include "unit/check.h"

#include <poll.h>
#include <stdbool.h>
#include <string.h>
#include <time.h>
#include <uv.h>

enum { HANDLES_MAX = 256, TURNS_MAX = 1000 };

struct handle {
	uv_handle_t *handle;
	bool closing;
	uv_close_cb closed;
	uv_timer_cb fire; /* NULL: no timer that runs */
	int64_t due_ns;
	uv_poll_cb ready; /* NULL: not watched */
	int descriptor;
};

static struct {
	struct handle handles[HANDLES_MAX];
	size_t count;
	int64_t now_ns, wall_ns; /* wall_ns: of the wall clock when the other one says 0 */
	loop_aside *aside;
	void *context;
} loop;

static struct handle *find(const void *handle)
{
	for (size_t i = 0; i < loop.count; i++) {
		if (loop.handles[i].handle == handle)
			return &loop.handles[i];
	}
	return NULL;
}

static struct handle *make(void *handle)
{
	assert_null(find(handle));
	assert_true(loop.count < HANDLES_MAX);
	loop.handles[loop.count] = (struct handle){.handle = handle};
	return &loop.handles[loop.count++];
}

/* ---- what the daemon calls */

int uv_timer_init(uv_loop_t *unused, uv_timer_t *timer)
{
	(void)unused;
	make(timer);
	return 0;
}

int uv_timer_start(uv_timer_t *timer, uv_timer_cb call, uint64_t in_ms, uint64_t each_ms)
{
	struct handle *handle = find(timer);

	assert_int_equal(each_ms, 0);
	handle->fire = call;
	handle->due_ns = loop.now_ns + (int64_t)in_ms * CLOCKS_NS_PER_MS;
	return 0;
}

int uv_timer_stop(uv_timer_t *timer)
{
	find(timer)->fire = NULL;
	return 0;
}

int uv_poll_init(uv_loop_t *unused, uv_poll_t *poll, int descriptor)
{
	(void)unused;
	make(poll)->descriptor = descriptor;
	return 0;
}

int uv_poll_start(uv_poll_t *poll, int events, uv_poll_cb call)
{
	(void)events;
	find(poll)->ready = call;
	return 0;
}

int uv_is_active(const uv_handle_t *handle)
{
	return find(handle)->fire != NULL;
}

int uv_is_closing(const uv_handle_t *handle)
{
	const struct handle *found = find(handle);
	return found == NULL || found->closing;
}

void uv_close(uv_handle_t *handle, uv_close_cb closed)
{
	struct handle *found = find(handle);

	assert_false(found->closing);
	*found = (struct handle){.handle = handle, .closing = true, .closed = closed};
}

void uv_update_time(uv_loop_t *unused)
{
	(void)unused;
}

uint64_t uv_hrtime(void)
{
	return (uint64_t)loop.now_ns;
}

int __wrap_clock_gettime(clockid_t clock, struct timespec *now);
int __wrap_clock_gettime(clockid_t clock, struct timespec *now)
{
	int64_t ns = loop.now_ns + (clock == CLOCK_REALTIME ? loop.wall_ns : 0);

	*now = (struct timespec){ns / CLOCKS_NS_PER_S, ns % CLOCKS_NS_PER_S};
	return 0;
}

/* ---- a turn */

static bool fire_timers(void)
{
	bool any = false;

	for (size_t i = 0; i < loop.count; i++) {
		struct handle *handle = &loop.handles[i];
		uv_timer_cb fire = handle->fire;

		if (!fire || handle->due_ns > loop.now_ns)
			continue;
		handle->fire = NULL;
		fire((uv_timer_t *)handle->handle);
		any = true;
	}
	return any;
}

static bool serve_descriptors(void)
{
	struct pollfd ready[HANDLES_MAX];
	size_t count = loop.count;

	for (size_t i = 0; i < count; i++) {
		const struct handle *handle = &loop.handles[i];

		ready[i] = (struct pollfd){
			.fd = handle->ready ? handle->descriptor : -1, .events = POLLIN};
	}
	if (poll(ready, count, 0) <= 0)
		return false;
	for (size_t i = 0; i < count; i++) {
		struct handle *handle = &loop.handles[i];

		if (ready[i].revents && handle->ready)
			handle->ready((uv_poll_t *)handle->handle, 0, UV_READABLE);
	}
	return true;
}

static bool close_handles(void)
{
	for (size_t i = 0; i < loop.count; i++) {
		struct handle handle = loop.handles[i];

		if (!handle.closing)
			continue;
		loop.count--;
		memmove(&loop.handles[i], &loop.handles[i + 1],
			(loop.count - i) * sizeof loop.handles[0]);
		if (handle.closed)
			handle.closed(handle.handle);
		return true;
	}
	return false;
}

static void turn(void)
{
	int turns = 0;

	for (bool any = true; any; assert_true(turns++ < TURNS_MAX)) {
		any = fire_timers();
		any |= serve_descriptors();
		any |= close_handles();
		loop.aside(loop.context);
	}
}

/* ---- time */

void loop_begin(int64_t wall_ns, loop_aside *aside, void *context)
{
	loop.count = 0;
	loop.now_ns = CLOCKS_NS_PER_S;
	loop.wall_ns = wall_ns - loop.now_ns;
	loop.aside = aside;
	loop.context = context;
}

void loop_finish(void)
{
	turn();
	assert_int_equal(loop.count, 0);
}

int64_t loop_now_ns(void)
{
	return loop.now_ns;
}

void loop_run_to(int64_t time_ns)
{
	assert_true(time_ns >= loop.now_ns);
	for (;;) {
		int64_t next_ns = time_ns;

		turn();
		for (size_t i = 0; i < loop.count; i++) {
			const struct handle *handle = &loop.handles[i];

			if (handle->fire && handle->due_ns < next_ns)
				next_ns = handle->due_ns;
		}
		if (next_ns == time_ns && loop.now_ns == time_ns)
			return;
		loop.now_ns = next_ns;
	}
}

void loop_stall(int64_t time_ns)
{
	assert_true(time_ns >= loop.now_ns);
	loop.now_ns = time_ns;
}

void loop_set_wall(int64_t by_ns)
{
	loop.wall_ns += by_ns;
}
