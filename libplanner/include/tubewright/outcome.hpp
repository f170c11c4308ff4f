// SPDX-License-Identifier: MIT
// Failure is a value. A notice says what is wrong, where, and what was meant; an Outcome holds a value or the notices
// that say why there is none, so that nothing unsolved can be read as 0 V. Exceptions are for misuse (Error) alone.
//
//     Outcome<Chassis> set = read_chassis("set.xml", catalogue);
//     if (!set) for (const Notice& n : set.notices()) std::cerr << n.text() << '\n';
#pragma once

#include <memory>
#include <optional>
#include <stdexcept>
#include <string>
#include <string_view>
#include <type_traits>
#include <utility>
#include <vector>

#include <tubewright/export.hpp>

namespace tubewright {

/// Misuse of the library: asking a failed Outcome for its value, a duplicate part in a builder.
class TUBEWRIGHT_API Error : public std::logic_error {
  public:
    using std::logic_error::logic_error;
};

/// A text that many things share and nobody changes: the file that a thousand parts came from, the construction that a
/// hundred share. Half as large as a std::string, nothing to copy, and good wherever a std::string is read.
class Text {
  public:
    Text() = default;
    template <class T, class = std::enable_if_t<std::is_constructible_v<std::string, T&&> &&
                                                !std::is_same_v<std::decay_t<T>, Text>>>
    Text(T&& from) {
        std::string made(std::forward<T>(from));
        if (!made.empty()) text_ = std::make_shared<const std::string>(std::move(made));
    }

    const std::string& str() const {
        static const std::string none;
        return text_ ? *text_ : none;
    }
    operator const std::string&() const { return str(); }
    operator std::string_view() const { return str(); }

    bool empty() const { return !text_; }
    std::size_t size() const { return text_ ? text_->size() : 0; }
    std::size_t find(std::string_view piece) const { return str().find(piece); }
    bool starts_with(std::string_view piece) const { return str().starts_with(piece); }
    void clear() { text_.reset(); }

    friend bool operator==(const Text& a, const Text& b) { return a.text_ == b.text_ || a.str() == b.str(); }
    friend bool operator==(const Text& a, std::string_view b) { return a.str() == b; }
    friend bool operator==(const Text& a, const std::string& b) { return a.str() == b; }
    friend bool operator==(const Text& a, const char* b) { return a.str() == b; }
    friend bool operator<(const Text& a, const Text& b) { return a.str() < b.str(); }
    friend std::string operator+(std::string a, const Text& b) { return std::move(a += b.str()); }
    friend std::string operator+(const char* a, const Text& b) { return a + b.str(); }
    friend std::string operator+(const Text& a, std::string_view b) { return std::string(a.str()).append(b); }

  private:
    std::shared_ptr<const std::string> text_;  ///< none: empty
};

/// A place in an input. line and column count from 1 (column in characters of UTF-8); 0 means "not known".
struct Place {
    Text file;
    int line = 0;
    int column = 0;
    friend bool operator==(const Place&, const Place&) = default;
};

/// stop: must not go on; doubt: probably wrong; note: worth knowing; error: the input cannot be used.
enum class Severity { note, doubt, stop, error };
TUBEWRIGHT_API const char* word(Severity severity);

/// One numbered message. Numbers are append-only; DEVELOPERS.md lists them.
struct TUBEWRIGHT_API Notice {
    int number = 0;
    Severity severity = Severity::error;
    Place place;
    std::string message;  ///< what was read and why it cannot stand
    std::string remedy;   ///< what was expected, the nearest right thing, what to do; may be empty
    /// "file:line:column: error: message; remedy [TW1203]" (GNU form; the place is left out when not known).
    std::string text() const;
};

/// A value, or the notices that say why there is none. A default-made Outcome is a failure.
/// A success may carry notices too (notes, doubts).
template <class T>
class Outcome {
  public:
    Outcome() = default;
    Outcome(T value) : value_(std::move(value)) {}
    Outcome(T value, std::vector<Notice> notices) : value_(std::move(value)), notices_(std::move(notices)) {}
    Outcome(Notice why) { notices_.push_back(std::move(why)); }
    Outcome(std::vector<Notice> why) : notices_(std::move(why)) {}

    explicit operator bool() const { return value_.has_value(); }
    bool has_value() const { return value_.has_value(); }
    /// Throws Error when there is no value; look first.
    const T& value() const {
        if (!value_) throw Error(reason());
        return *value_;
    }
    T& value() {
        if (!value_) throw Error(reason());
        return *value_;
    }
    const T& operator*() const { return value(); }
    T& operator*() { return value(); }
    const T* operator->() const { return &value(); }
    T* operator->() { return &value(); }
    const std::vector<Notice>& notices() const { return notices_; }

  private:
    std::string reason() const {
        return notices_.empty() ? std::string("no value: never computed") : "no value: " + notices_.front().text();
    }
    std::optional<T> value_;
    std::vector<Notice> notices_;
};

}  // namespace tubewright
