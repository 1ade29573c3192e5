/* SPDX-License-Identifier: MIT
 *
 * What a fuzz target offers, by libFuzzer's name for it. A target crashes (an assertion, a
 * sanitizer) on an input that shows a mistake, and returns 0 on every other.
 */
#ifndef TESTS_FUZZ_FUZZ_H
#define TESTS_FUZZ_FUZZ_H

#include <stddef.h>
#include <stdint.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

#endif
