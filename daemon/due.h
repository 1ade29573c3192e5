/* SPDX-License-Identifier: MIT
 *
 * What is due on the presses of a configuration, for whoever checks it.
 */
#ifndef DAEMON_DUE_H
#define DAEMON_DUE_H

#include "config.h"

#include <stdio.h>

void due_write(const struct config *config, FILE *file);

#endif
