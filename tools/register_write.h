/* SPDX-License-Identifier: MIT
 *
 * One specimen, as checked, into the register.
 */
#ifndef TOOLS_REGISTER_WRITE_H
#define TOOLS_REGISTER_WRITE_H

#include "registration.h"
#include "writing.h"

/* Registers one, or corrects it where the request says so; prints what became of it, and flags on
 * stderr. Exit code. */
int register_write(struct writing *writing, const struct registration *registration);

#endif
