/* SPDX-License-Identifier: MIT
 *
 * What a back end of daemon/port.c provides. Internal to the port files.
 */
#ifndef DAEMON_PORT_BACKEND_H
#define DAEMON_PORT_BACKEND_H

#include "port.h"

struct port_backend {
	const char *name;
	/* Opens and configures node, reads the settings back. */
	bool (*open)(struct port *port, const struct port_settings *settings, struct message *why);
	void (*close)(struct port *port);
};

struct port {
	const struct port_backend *backend;
	char node[PORT_PATH_SIZE];
	int lock; /* a descriptor of its own that holds the lock from before the port is touched */
	int descriptor;
	void *handle; /* the back end's */
	char remark[120];
};

extern const struct port_backend port_serial;
extern const struct port_backend port_pty;

#endif
