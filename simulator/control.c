/* SPDX-License-Identifier: MIT
 *
 * Lines from a descriptor. One read per call, so that a flood of commands does not hold up the
 * instruments; the caller polls again.
 */
#include "control.h"

#include <unistd.h>

void control_init(struct control *control, int fd)
{
	*control = (struct control){.fd = fd};
}

static void take_byte(struct control *control, char byte, control_take *take, void *context)
{
	if (byte == '\n') {
		control->line[control->length] = '\0';
		if (!control->too_long)
			take(context, control->line);
		control->length = 0;
		control->too_long = false;
	} else if (control->length + 1 < sizeof control->line) {
		control->line[control->length++] = byte;
	} else {
		control->too_long = true;
	}
}

bool control_read(struct control *control, control_take *take, void *context)
{
	char bytes[256];
	ssize_t length = read(control->fd, bytes, sizeof bytes);
	if (length <= 0) {
		control->fd = -1;
		return false;
	}
	for (ssize_t i = 0; i < length; i++)
		take_byte(control, bytes[i], take, context);
	return true;
}
