// SPDX-License-Identifier: MIT
// What libtubewright.so shows to the outside: everything marked TUBEWRIGHT_API, nothing else.
#pragma once

#if defined(_WIN32)
#define TUBEWRIGHT_API
#else
#define TUBEWRIGHT_API __attribute__((visibility("default")))
#endif
