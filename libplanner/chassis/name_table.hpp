// SPDX-License-Identifier: MIT
// Names to numbers: every distinct text gets the next index, in order of first appearance, and keeps it. The texts are
// kept in blocks that never move, so views of them stay good as long as the table. Open addressing, linear probing.
// Tests: tests/chassis/name_table_test.cpp.
#pragma once

#include <cstdint>
#include <cstring>
#include <functional>
#include <memory>
#include <string_view>
#include <vector>

namespace tubewright {

class NameTable {
  public:
    NameTable() : slots_(64, -1) {}

    int size() const { return static_cast<int>(texts_.size()); }
    std::string_view text(int index) const { return texts_[static_cast<std::size_t>(index)]; }

    /// -1 when the name was never interned.
    int find(std::string_view name) const {
        const std::size_t hash = std::hash<std::string_view>()(name);
        return slots_[slot_of(name, hash)];
    }

    /// Index of the name, new or known.
    int intern(std::string_view name) {
        const std::size_t hash = std::hash<std::string_view>()(name);
        std::size_t slot = slot_of(name, hash);
        if (slots_[slot] >= 0) return slots_[slot];
        const int index = size();
        texts_.push_back(keep(name));
        hashes_.push_back(hash);
        slots_[slot] = index;
        if (texts_.size() * 2 > slots_.size()) grow();
        return index;
    }

  private:
    std::size_t slot_of(std::string_view name, std::size_t hash) const {
        const std::size_t mask = slots_.size() - 1;
        std::size_t slot = hash & mask;
        while (slots_[slot] >= 0) {
            const auto i = static_cast<std::size_t>(slots_[slot]);
            if (hashes_[i] == hash && texts_[i] == name) break;
            slot = (slot + 1) & mask;
        }
        return slot;
    }

    void grow() {
        slots_.assign(slots_.size() * 2, -1);
        const std::size_t mask = slots_.size() - 1;
        for (std::size_t i = 0; i < texts_.size(); ++i) {
            std::size_t slot = hashes_[i] & mask;
            while (slots_[slot] >= 0) slot = (slot + 1) & mask;
            slots_[slot] = static_cast<int>(i);
        }
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

    std::vector<int> slots_;
    std::vector<std::string_view> texts_;
    std::vector<std::size_t> hashes_;
    std::vector<std::unique_ptr<char[]>> blocks_;
    char* open_ = nullptr;
    std::size_t used_ = 0;
};

}  // namespace tubewright
