/* SPDX-License-Identifier: MIT
 *
 * Real serial ports, through libserialport 0.1.1. What that leaves undone is done here: VMIN 1 (it
 * sets 0, with which "no data" and "unplugged" look alike), close-on-exec, no hang-up at closing
 * (dropping DTR resets some indicators), exclusivity, and reading the settings back: a driver may
 * take a speed and run at another.
 */
#include "port_backend.h"

#include <errno.h>
#include <fcntl.h>
#include <libserialport.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <termios.h>

static bool fail(struct message *why, const struct port *port, const char *doing)
{
	char *text = sp_last_error_message();

	message_set(why, "%s: %s: %s", port->node, doing, text ? text : "unknown");
	sp_free_error_message(text);
	return false;
}

static enum sp_parity parity_of(char parity)
{
	return parity == 'E' ? SP_PARITY_EVEN : parity == 'O' ? SP_PARITY_ODD : SP_PARITY_NONE;
}

static enum sp_flowcontrol flow_of(enum port_flow flow)
{
	return flow == PORT_FLOW_RTSCTS    ? SP_FLOWCONTROL_RTSCTS
	       : flow == PORT_FLOW_XONXOFF ? SP_FLOWCONTROL_XONXOFF
					   : SP_FLOWCONTROL_NONE;
}

static bool configure(struct sp_port *handle, const struct port_settings *settings)
{
	return sp_set_baudrate(handle, settings->baud) == SP_OK &&
	       sp_set_bits(handle, settings->data_bits) == SP_OK &&
	       sp_set_parity(handle, parity_of(settings->parity)) == SP_OK &&
	       sp_set_stopbits(handle, settings->stop_bits) == SP_OK &&
	       sp_set_flowcontrol(handle, flow_of(settings->flow)) == SP_OK;
}

static bool read_back(struct sp_port *handle, const struct port *port,
	const struct port_settings *settings, struct message *why)
{
	struct sp_port_config *config = NULL;
	int baud = 0, bits = 0, stop_bits = 0;
	enum sp_parity parity = SP_PARITY_INVALID;

	if (sp_new_config(&config) != SP_OK)
		return fail(why, port, "reading the settings back");
	bool ok = sp_get_config(handle, config) == SP_OK &&
		  sp_get_config_baudrate(config, &baud) == SP_OK &&
		  sp_get_config_bits(config, &bits) == SP_OK &&
		  sp_get_config_parity(config, &parity) == SP_OK &&
		  sp_get_config_stopbits(config, &stop_bits) == SP_OK;
	sp_free_config(config);
	if (!ok)
		return fail(why, port, "reading the settings back");
	if (baud == settings->baud && bits == settings->data_bits &&
		parity == parity_of(settings->parity) && stop_bits == settings->stop_bits)
		return true;
	return message_set(why,
		"%s runs at %d baud, %d data bits, %d stop bits and not as the config asks (%d "
		"%d%c%d): choose what the adapter can do",
		port->node, baud, bits, stop_bits, settings->baud, settings->data_bits,
		settings->parity, settings->stop_bits);
}

/* What libserialport leaves undone. */
static bool finish_mode(struct port *port, struct message *why)
{
	struct termios mode;
	int flags = fcntl(port->descriptor, F_GETFD);

	if (flags < 0 || fcntl(port->descriptor, F_SETFD, flags | FD_CLOEXEC) != 0 ||
		tcgetattr(port->descriptor, &mode) != 0)
		return message_set(why, "%s: %s", port->node, strerror(errno));
	mode.c_cflag &= (tcflag_t)~HUPCL;
	mode.c_cc[VMIN] = 1;
	mode.c_cc[VTIME] = 0;
	if (tcsetattr(port->descriptor, TCSANOW, &mode) != 0)
		return message_set(why, "%s: %s", port->node, strerror(errno));
	/* A courtesy beyond the lock, for programs that do not ask for it. */
	ioctl(port->descriptor, TIOCEXCL);
	return true;
}

/* Some USB adapters hold short messages back, and say for how long: so late is every reading. */
static void remark_latency(struct port *port)
{
	char path[PORT_PATH_SIZE + 64];
	const char *name = strrchr(port->node, '/') + 1;
	int latency_ms = 0;

	snprintf(path, sizeof path, "/sys/bus/usb-serial/devices/%s/latency_timer", name);
	FILE *file = fopen(path, "re");
	if (!file)
		return;
	if (fscanf(file, "%d", &latency_ms) == 1 && latency_ms > 1)
		snprintf(port->remark, sizeof port->remark,
			"the adapter holds bytes back for up to %d ms: have udev write 1 to its "
			"latency_timer",
			latency_ms);
	fclose(file);
}

static bool serial_open(
	struct port *port, const struct port_settings *settings, struct message *why)
{
	struct sp_port *handle = NULL;

	if (sp_get_port_by_name(port->node, &handle) != SP_OK)
		return message_set(
			why, "%s is no serial port: correct the cell's device", port->node);
	if (sp_open(handle, settings->writes ? SP_MODE_READ_WRITE : SP_MODE_READ) != SP_OK) {
		fail(why, port, "opening");
		goto free_handle;
	}
	if (!configure(handle, settings)) {
		fail(why, port, "setting speed and format");
		goto close_handle;
	}
	if (sp_get_port_handle(handle, &port->descriptor) != SP_OK) {
		fail(why, port, "asking for its descriptor");
		goto close_handle;
	}
	if (!finish_mode(port, why) || !read_back(handle, port, settings, why))
		goto close_handle;
	port->handle = handle;
	remark_latency(port);
	return true;
close_handle:
	sp_close(handle);
free_handle:
	sp_free_port(handle);
	return false;
}

static void serial_close(struct port *port)
{
	/* A pseudo terminal that stands in for a port would keep the mark. */
	ioctl(port->descriptor, TIOCNXCL);
	sp_close(port->handle);
	sp_free_port(port->handle);
}

const struct port_backend port_serial = {"serial port", serial_open, serial_close};
