// SPDX-License-Identifier: MIT
// Room for a large array, on large pages where the system has them: a large file's reading would else wait for small
// pages and for the processor to look them up. Tests: tests/speed/netlist_speed.cpp shows what it is worth.
#pragma once

#include <cstddef>
#include <cstdint>
#include <vector>

#if __has_include(<sys/mman.h>)
#include <sys/mman.h>
#endif

namespace tubewright {

template <class T>
void reserve_large(std::vector<T>& array, std::size_t count) {
    array.reserve(count);
#ifdef MADV_HUGEPAGE
    constexpr std::uintptr_t page = 4096, worth_it = std::uintptr_t{2} << 20U;
    const auto begin = reinterpret_cast<std::uintptr_t>(array.data()), bytes = count * sizeof(T);
    if (bytes < worth_it) return;
    const std::uintptr_t first = (begin + page - 1) / page * page, last = (begin + bytes) / page * page;
    madvise(reinterpret_cast<void*>(first), last - first, MADV_HUGEPAGE);  // a wish: no harm if it is not granted
#endif
}

}  // namespace tubewright
