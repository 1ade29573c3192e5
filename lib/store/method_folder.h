/* SPDX-License-Identifier: MIT
 *
 * The folder into which a laboratory puts its own test methods, one file NAME.ini each.
 */
#ifndef STORE_METHOD_FOLDER_H
#define STORE_METHOD_FOLDER_H

#include "result/methods.h"

#define METHOD_FOLDER_DEFAULT "/etc/ramplog/methods"

/* Adds every method of the folder, in the order of their names. A folder that is not there is an
 * empty one. Gives how many files could not be read; each error was told. Once, at start. */
size_t method_folder_load(const char *folder, method_complain *complain, void *context);

/* Reads one file without adding it, or keeping its text. */
bool method_folder_check(
	const char *path, struct method *method, method_complain *complain, void *context);

#endif
