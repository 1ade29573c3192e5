/* SPDX-License-Identifier: MIT
 *
 * Pseudo terminals, as the simulator makes them, through termios. There is no wire behind one: it
 * takes any speed, cannot do seven bits or parity, and has no modem lines.
 */
#include "port_backend.h"

#include <errno.h>
#include <fcntl.h>
#include <stddef.h>
#include <stdio.h>
#include <string.h>
#include <termios.h>
#include <unistd.h>

static const struct {
	int baud;
	speed_t speed;
} SPEEDS[] = {
	{1200, B1200},
	{2400, B2400},
	{4800, B4800},
	{9600, B9600},
	{19200, B19200},
	{38400, B38400},
	{57600, B57600},
	{115200, B115200},
	{230400, B230400},
	{460800, B460800},
	{921600, B921600},
};

static bool configure(int descriptor, const struct port_settings *settings)
{
	struct termios mode;

	if (tcgetattr(descriptor, &mode) != 0)
		return false;
	cfmakeraw(&mode);
	mode.c_cflag |= CLOCAL | CREAD;
	mode.c_cflag &= (tcflag_t)~HUPCL;
	mode.c_cc[VMIN] = 1;
	mode.c_cc[VTIME] = 0;
	for (size_t i = 0; i < sizeof SPEEDS / sizeof SPEEDS[0]; i++) {
		if (SPEEDS[i].baud == settings->baud)
			cfsetspeed(&mode, SPEEDS[i].speed);
	}
	return tcsetattr(descriptor, TCSANOW, &mode) == 0;
}

/* tcsetattr succeeds when any part of it did. */
static bool is_raw(int descriptor)
{
	struct termios mode;

	return tcgetattr(descriptor, &mode) == 0 && !(mode.c_lflag & (ICANON | ECHO | ISIG)) &&
	       !(mode.c_iflag & (ICRNL | INLCR | IGNCR | IXON)) && mode.c_cc[VMIN] == 1;
}

static bool pty_open(struct port *port, const struct port_settings *settings, struct message *why)
{
	port->descriptor = open(port->node, O_RDWR | O_NOCTTY | O_NONBLOCK | O_CLOEXEC);
	if (port->descriptor < 0)
		return message_set(why, "cannot open %s: %s", port->node, strerror(errno));
	if (!configure(port->descriptor, settings) || !is_raw(port->descriptor)) {
		message_set(why, "%s does not take raw mode: %s", port->node, strerror(errno));
		close(port->descriptor);
		return false;
	}
	if (settings->data_bits != 8 || settings->parity != 'N')
		snprintf(port->remark, sizeof port->remark,
			"a pseudo terminal has neither parity nor 7 bits: read as 8 bits");
	return true;
}

static void pty_close(struct port *port)
{
	close(port->descriptor);
}

const struct port_backend port_pty = {"pseudo terminal", pty_open, pty_close};
