// SPDX-License-Identifier: MIT
// Names to numbers: every distinct text gets the next index, in order of first appearance, and keeps it. The texts are
// kept in blocks that never move, so views of them stay good as long as the table. Open addressing, linear probing; the
// hash begins anew in every process, so that no file can be written to make names collide.
// Tests: tests/chassis/name_table_test.cpp.
#pragma once

#include <cstdint>
#include <cstring>
#include <memory>
#include <string_view>
#include <utility>
#include <vector>

#include "chassis/large_pages.hpp"

namespace tubewright {

class NameTable {
  public:
    NameTable() : slots_(64) {}

    /// Room for this many names.
    void reserve(std::size_t names) {
        reserve_large(texts_, names);
        while (slots_.size() < 2 * names) grow();
    }

    int size() const { return static_cast<int>(texts_.size()); }
    std::string_view text(int index) const { return texts_[static_cast<std::size_t>(index)]; }

    /// -1 when the name was never interned.
    int find(std::string_view name) const { return slots_[slot_of(name, hash_of(name))].index; }

    /// Index of the name, new or known.
    int intern(std::string_view name) {
        const std::uint32_t hash = hash_of(name);
        Slot& slot = slots_[slot_of(name, hash)];
        if (slot.index >= 0) return slot.index;
        const int index = size();
        texts_.push_back(keep(name));
        slot = {index, hash};
        if (texts_.size() * 2 > slots_.size()) grow();
        return index;
    }

  private:
    struct Slot {
        int index = -1;
        std::uint32_t hash = 0;
    };

    /// Of all but the last character, which picks one of sixteen neighbours: "V3.1", "V3.2" ... lie side by side, and
    /// the next one asked for is near the processor already.
    static std::uint32_t hash_of(std::string_view name) {
        static const char anchor = 0;
        constexpr std::uint64_t odd = 0x9E3779B97F4A7C15U;  // the golden ratio in 64 bits
        static const std::uint64_t start = reinterpret_cast<std::uintptr_t>(&anchor) * odd;
        if (name.empty()) return 0;
        const auto mixed = [](std::uint64_t h, std::uint64_t word) {
            h = (h ^ word) * odd;
            return h ^ (h >> 32U);
        };
        std::uint64_t h = start + name.size(), word = 0;
        const char* at = name.data();
        std::size_t left = name.size() - 1;
        for (; left >= sizeof word; left -= sizeof word, at += sizeof word) {
            std::memcpy(&word, at, sizeof word);
            h = mixed(h, word);
        }
        word = 0;
        for (std::size_t i = 0; i < left; ++i) word = word << 8U | static_cast<unsigned char>(at[i]);
        h = mixed(h, word);
        const unsigned neighbour = static_cast<unsigned char>(name.back()) & 15U;
        return static_cast<std::uint32_t>(mixed(h, h >> 29U)) << 4U | neighbour;
    }

    std::size_t slot_of(std::string_view name, std::uint32_t hash) const {
        const std::size_t mask = slots_.size() - 1;
        std::size_t slot = hash & mask;
        while (slots_[slot].index >= 0) {
            if (slots_[slot].hash == hash && text(slots_[slot].index) == name) break;
            slot = (slot + 1) & mask;
        }
        return slot;
    }

    void grow() {
        std::vector<Slot> larger;
        reserve_large(larger, slots_.size() * 2);
        larger.resize(slots_.size() * 2);
        const std::size_t mask = larger.size() - 1;
        for (const Slot& s : slots_) {
            if (s.index < 0) continue;
            std::size_t slot = s.hash & mask;
            while (larger[slot].index >= 0) slot = (slot + 1) & mask;
            larger[slot] = s;
        }
        slots_ = std::move(larger);
    }

    std::string_view keep(std::string_view name) {
        constexpr std::size_t block = 16384;
        if (name.size() > block / 4) {
            blocks_.push_back(std::make_unique<char[]>(name.size()));
            std::memcpy(blocks_.back().get(), name.data(), name.size());
            return {blocks_.back().get(), name.size()};
        }
        if (!open_ || used_ + name.size() > block) {
            blocks_.push_back(std::make_unique<char[]>(block));
            open_ = blocks_.back().get();
            used_ = 0;
        }
        char* at = open_ + used_;
        if (!name.empty()) std::memcpy(at, name.data(), name.size());
        used_ += name.size();
        return {at, name.size()};
    }

    std::vector<Slot> slots_;
    std::vector<std::string_view> texts_;
    std::vector<std::unique_ptr<char[]>> blocks_;
    char* open_ = nullptr;
    std::size_t used_ = 0;
};

}  // namespace tubewright
