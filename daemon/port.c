/* SPDX-License-Identifier: MIT
 *
 * What both back ends have in common: following links (libserialport 0.1.1 refuses them, and a
 * replugged adapter may stand behind another node), choosing the back end, and the lock.
 */
#include "port_backend.h"

#include <assert.h>
#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <termios.h>
#include <unistd.h>

/* Taken before the back end touches the settings: they may be another daemon's. */
static bool lock_node(struct port *port, struct message *why)
{
	port->lock = open(port->node, O_RDONLY | O_NOCTTY | O_NONBLOCK | O_CLOEXEC);
	if (port->lock < 0 && errno == EBUSY)
		return message_set(
			why, "%s is in use by another program: end it first", port->node);
	if (port->lock < 0)
		return message_set(why, "cannot open %s: %s%s", port->node, strerror(errno),
			errno == EACCES ? " (the group dialout usually may)" : "");
	if (flock(port->lock, LOCK_EX | LOCK_NB) != 0)
		return message_set(why,
			"%s is in use by another program, perhaps a second ramplogd: end it first",
			port->node);
	return true;
}

static bool resolve(struct port *port, const char *device, struct message *why)
{
	char node[PATH_MAX];

	if (!realpath(device, node))
		return message_set(why, "%s: %s: plug it in, or correct the cell's device", device,
			strerror(errno));
	size_t length = strlen(node);
	if (length >= sizeof port->node)
		return message_set(why, "%s: the path behind it is too long", device);
	memcpy(port->node, node, length + 1);
	return true;
}

struct port *port_open(const struct port_settings *settings, struct message *why)
{
	struct port *port = calloc(1, sizeof *port);

	assert(port);
	port->lock = port->descriptor = -1;
	if (!resolve(port, settings->device, why) || !lock_node(port, why))
		goto fail;
	bool pty = strncmp(port->node, "/dev/pts/", strlen("/dev/pts/")) == 0;
	port->backend = pty ? &port_pty : &port_serial;
	if (!port->backend->open(port, settings, why))
		goto fail;
	/* What came in before belongs to nobody's run. */
	tcflush(port->descriptor, TCIFLUSH);
	return port;
fail:
	if (port->lock >= 0)
		close(port->lock);
	free(port);
	return NULL;
}

void port_close(struct port *port)
{
	if (!port)
		return;
	/* Otherwise closing can wait half a minute for output that nobody takes. */
	tcflush(port->descriptor, TCOFLUSH);
	port->backend->close(port);
	close(port->lock);
	free(port);
}

int port_descriptor(const struct port *port)
{
	return port->descriptor;
}

const char *port_node(const struct port *port)
{
	return port->node;
}

const char *port_remark(const struct port *port)
{
	return port->remark;
}

int64_t port_ns_per_byte(const struct port_settings *settings)
{
	int bits = 1 + settings->data_bits + (settings->parity != 'N') + settings->stop_bits;

	return INT64_C(1000000000) * bits / settings->baud;
}
