// SPDX-License-Identifier: MIT
#include "terms/near.hpp"

#include <algorithm>
#include <array>

namespace tubewright {
namespace {

constexpr std::size_t longest_word = 48;

char lower(char c) {
    return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
}

int distance(std::string_view a, std::string_view b) {
    std::array<int, longest_word + 1> before_last{}, last{}, now{};
    for (std::size_t j = 0; j <= b.size(); ++j) last[j] = static_cast<int>(j);
    for (std::size_t i = 1; i <= a.size(); ++i) {
        now[0] = static_cast<int>(i);
        for (std::size_t j = 1; j <= b.size(); ++j) {
            const bool same = lower(a[i - 1]) == lower(b[j - 1]);
            now[j] = std::min({last[j] + 1, now[j - 1] + 1, last[j - 1] + (same ? 0 : 1)});
            if (i > 1 && j > 1 && lower(a[i - 1]) == lower(b[j - 2]) && lower(a[i - 2]) == lower(b[j - 1]))
                now[j] = std::min(now[j], before_last[j - 2] + 1);
        }
        before_last = last;
        last = now;
    }
    return last[b.size()];
}

}  // namespace

std::string nearest(std::string_view word, const std::vector<std::string_view>& known) {
    if (word.empty() || word.size() > longest_word) return {};
    const int allowed = std::min(2, std::max(1, static_cast<int>(word.size()) / 3));
    int best = allowed + 1;
    std::string_view found;
    for (const std::string_view candidate : known) {
        if (candidate.size() > longest_word) continue;
        const int gap =
            static_cast<int>(std::max(candidate.size(), word.size()) - std::min(candidate.size(), word.size()));
        if (gap >= best) continue;
        const int d = distance(word, candidate);
        if (d < best && d < static_cast<int>(std::max(word.size(), candidate.size()))) {
            best = d;
            found = candidate;
        }
    }
    return std::string(found);
}

std::string suggestion(std::string_view word, const std::vector<std::string_view>& known) {
    if (const std::string near = nearest(word, known); !near.empty()) return "did you mean \"" + near + "\"?";
    if (known.empty() || known.size() > 32) return {};
    std::string list = "one of ";
    for (std::size_t i = 0; i < known.size(); ++i) list.append(i ? ", " : "").append(known[i]);
    return list;
}

std::string quoted(std::string_view text) {
    std::string out = "\"";
    std::size_t characters = 0;
    for (std::size_t i = 0; i < text.size(); ++i) {
        const auto c = static_cast<unsigned char>(text[i]);
        if ((c & 0xC0) != 0x80 && ++characters > 40) {
            out += "...";
            break;
        }
        out += c < 0x20 || c == 0x7F ? '?' : text[i];
    }
    return out + '"';
}

std::string joined(std::initializer_list<std::string_view> pieces) {
    std::string out;
    for (const std::string_view piece : pieces) out.append(piece);
    return out;
}

}  // namespace tubewright
