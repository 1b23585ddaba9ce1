// SPDX-License-Identifier: Apache-2.0
#pragma once

/// Before a function's type: it is compiled for processors with 256-bit vectors, too, and the one
/// that this processor can run is chosen when the program is loaded.
#ifdef __SANITIZE_THREAD__
#define HOLDSHELF_WIDE_VECTORS  // ThreadSanitizer is not there yet when the choice is made.
#else
#define HOLDSHELF_WIDE_VECTORS __attribute__((target_clones("arch=x86-64-v3", "default")))
#endif
