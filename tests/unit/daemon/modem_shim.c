/* SPDX-License-Identifier: MIT
 *
 * Answers the modem-line requests that a pseudo terminal lacks, so that one can stand in for a
 * serial port: libserialport asks for them when it opens. Linked into the test, where it comes
 * before the C library's ioctl; everything else goes through.
 */
#include <stdarg.h>
#include <sys/ioctl.h>
#include <sys/syscall.h>
#include <unistd.h>

int ioctl(int descriptor, unsigned long request, ...)
{
	va_list arguments;

	va_start(arguments, request);
	void *argument = va_arg(arguments, void *);
	va_end(arguments);
	switch (request) {
	case TIOCMGET:
		*(int *)argument = TIOCM_DTR | TIOCM_RTS;
		return 0;
	case TIOCMSET:
	case TIOCMBIS:
	case TIOCMBIC:
		return 0;
	default:
		return (int)syscall(SYS_ioctl, descriptor, request, argument);
	}
}
