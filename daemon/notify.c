/* SPDX-License-Identifier: MIT
 *
 * The protocol is a datagram of text to the socket named by NOTIFY_SOCKET: few enough lines not to
 * link a library for. The answer to the watchdog comes from the loop, so it stops with the loop.
 */
#include "notify.h"

#include "log.h"

#include <errno.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/un.h>
#include <unistd.h>

static void say(const char *text)
{
	struct sockaddr_un address = {.sun_family = AF_UNIX};
	const char *path = getenv("NOTIFY_SOCKET");
	size_t length = path ? strlen(path) : 0;

	/* "@name" is a name without a file; anything else than that or a path is not for us. */
	if (length < 2 || length >= sizeof address.sun_path || (path[0] != '/' && path[0] != '@'))
		return;
	memcpy(address.sun_path, path, length);
	if (path[0] == '@')
		address.sun_path[0] = '\0';
	int descriptor = socket(AF_UNIX, SOCK_DGRAM | SOCK_CLOEXEC | SOCK_NONBLOCK, 0);
	if (descriptor < 0)
		return;
	socklen_t size = (socklen_t)(offsetof(struct sockaddr_un, sun_path) + length);
	if (sendto(descriptor, text, strlen(text), MSG_NOSIGNAL, (struct sockaddr *)&address,
		    size) < 0)
		log_line(LOG_WARNING, "NOTIFY_SOCKET %s does not take \"%s\": %s", path, text,
			strerror(errno));
	close(descriptor);
}

static void on_timer(uv_timer_t *timer)
{
	(void)timer;
	say("WATCHDOG=1");
}

/* 0: there is no watchdog, or it is another process's. */
static uint64_t watchdog_ms(void)
{
	const char *microseconds = getenv("WATCHDOG_USEC"), *process = getenv("WATCHDOG_PID");

	if (!microseconds || (process && strtol(process, NULL, 10) != (long)getpid()))
		return 0;
	return strtoull(microseconds, NULL, 10) / 1000;
}

void notify_init(struct notify *notify, uv_loop_t *loop)
{
	uv_timer_init(loop, &notify->timer);
}

void notify_ready(struct notify *notify)
{
	uint64_t interval_ms = watchdog_ms() / 2;

	say("READY=1");
	if (interval_ms)
		uv_timer_start(&notify->timer, on_timer, interval_ms, interval_ms);
}

void notify_stop(struct notify *notify)
{
	say("STOPPING=1");
	uv_close((uv_handle_t *)&notify->timer, NULL);
}
