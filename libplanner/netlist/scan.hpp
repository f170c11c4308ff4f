// SPDX-License-Identifier: MIT
// A first pass over the bytes of a chassis file, before any tree is built: UTF-8, control characters, limits, DOCTYPE,
// the nesting of elements, references, text where none belongs. So nothing that could grow without bound reaches the
// parser, and these faults are told with line and column. PlaceCursor then turns offsets into lines and columns
// (columns in characters) in one forward walk. Tests: tests/netlist/scan_test.cpp, tests/bad.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

#include "chassis/assembly.hpp"

namespace tubewright {

struct Limits {
    std::size_t bytes = std::size_t{64} << 20;
    std::size_t elements = 500000;
    std::size_t depth = 64;
    std::size_t attribute_bytes = std::size_t{64} << 10;
};

/// A fault at an offset.
struct TextFault {
    int number = 0;
    std::size_t offset = 0;
    std::string message, remedy;
};

struct Scan {
    std::size_t elements = 0;
    bool ascii = true;
    bool readable = true;  ///< false: not to be given to the parser
    /// The root's start tag, and behind it pieces of whole elements: piece i from bounds[i] to bounds[i + 1].
    std::size_t root_begin = 0, root_end = 0;
    bool root_closed = false;  ///< <chassis .../>: nothing stands in it
    std::vector<std::size_t> bounds;
    std::vector<TextFault> faults;
};

/// Bytes of a piece, but for elements that are longer: small enough to stay near the processor while they are read.
inline constexpr std::size_t piece_bytes = std::size_t{64} << 10;

/// Looks at a text without byte-order mark. At most 1,000 faults are kept.
Scan scan_xml(std::string_view text, const Limits& limits);

/// "UTF-16" or "UTF-32" by the mark at the head of a text; empty for none of the two.
std::string_view wide_text(std::string_view text);

/// Offsets to places. Fast when the offsets rise; correct in any order.
class PlaceCursor {
  public:
    PlaceCursor(std::string_view text, bool ascii);
    Spot at(std::size_t offset) {
        if (ascii_ && offset >= line_start_ && offset <= line_end_)
            return {line_, static_cast<int>(offset - line_start_) + 1};
        return walk(offset);
    }

  private:
    Spot walk(std::size_t offset);
    void restart();
    void find_line_end();
    std::string_view text_;
    bool ascii_;
    std::size_t line_start_ = 0, line_end_ = 0, counted_to_ = 0;
    int line_ = 1, characters_ = 0;
};

}  // namespace tubewright
