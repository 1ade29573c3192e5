/* SPDX-License-Identifier: MIT
 *
 * Types of values that describe the press itself. Internal to daemon/config*.c.
 */
#ifndef DAEMON_CONFIG_PRESS_H
#define DAEMON_CONFIG_PRESS_H

#include "config_keys.h"

extern const struct config_type config_type_length; /* int64_t, in micrometres: "5 mm" */
extern const struct config_type config_type_block;  /* struct bearing: "square 200 mm" */
extern const struct config_type config_type_place;  /* struct config_place: "-100, 57.5 mm" */

#endif
