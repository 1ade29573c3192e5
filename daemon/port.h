/* SPDX-License-Identifier: MIT
 *
 * A serial port. Real ports go through libserialport; pseudo
 * terminals, which it does not know, through a small termios back end of the same form.
 *
 * An open port is raw, non-blocking, close-on-exec and locked against other programs; its settings
 * were read back and are what was asked for. With VMIN 1 a read gives bytes, EAGAIN (no data), or
 * 0 / an error (unplugged). It is opened for reading
 * alone unless the protocol has to ask for its readings; nothing but such requests is ever written.
 */
#ifndef DAEMON_PORT_H
#define DAEMON_PORT_H

#include "base/message.h"

#include <stdbool.h>
#include <stdint.h>

enum { PORT_PATH_SIZE = 256 };

enum port_flow {
	PORT_FLOW_NONE,
	PORT_FLOW_RTSCTS,
	PORT_FLOW_XONXOFF,
};

struct port_settings {
	char device[PORT_PATH_SIZE]; /* as configured; links are followed at each opening */
	int baud;
	int data_bits; /* 7 or 8 */
	char parity;   /* 'N', 'E', 'O' */
	int stop_bits; /* 1 or 2 */
	enum port_flow flow;
	bool writes; /* the protocol has to ask */
};

struct port;

/* NULL: why says what, where and what to do. */
struct port *port_open(const struct port_settings *settings, struct message *why);
/* Never waits for output to drain. NULL is fine. */
void port_close(struct port *port);
int port_descriptor(const struct port *port);
/* The node behind the configured name, e.g. "/dev/ttyUSB0". */
const char *port_node(const struct port *port);
/* What could not be set up as asked and does not matter here; "" nothing. */
const char *port_remark(const struct port *port);
/* Time that one character takes on the wire. */
int64_t port_ns_per_byte(const struct port_settings *settings);

#endif
