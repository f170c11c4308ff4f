// SPDX-License-Identifier: MIT
// Failure is a value. A notice says what is wrong, where, and what was meant; an Outcome holds a value or the notices
// that say why there is none, so that nothing unsolved can be read as 0 V. Exceptions are for misuse (Error) alone.
//
//     Outcome<Chassis> set = read_chassis("set.xml", catalogue);
//     if (!set) for (const Notice& n : set.notices()) std::cerr << n.text() << '\n';
#pragma once

#include <atomic>
#include <limits>
#include <optional>
#include <stdexcept>
#include <string>
#include <string_view>
#include <type_traits>
#include <utility>
#include <vector>

/// What libtubewright.so shows to the outside: everything marked so, nothing else.
#if defined(_WIN32)
#define TUBEWRIGHT_API
#else
#define TUBEWRIGHT_API __attribute__((visibility("default")))
#endif

namespace tubewright {

/// Misuse of the library: asking a failed Outcome for its value, a duplicate part in a builder.
class TUBEWRIGHT_API Error : public std::logic_error {
  public:
    using std::logic_error::logic_error;
};

/// A number or none, in the room of a number: half of a std::optional<double>. No number given is a NaN.
class OptionalNumber {
  public:
    OptionalNumber() = default;
    OptionalNumber(double number) : number_(number) {}
    OptionalNumber(std::nullopt_t) {}
    OptionalNumber(const std::optional<double>& number) : number_(number ? *number : none) {}
    operator std::optional<double>() const { return has_value() ? std::optional(number_) : std::nullopt; }

    bool has_value() const { return number_ == number_; }
    explicit operator bool() const { return has_value(); }
    /// Only where there is one.
    double operator*() const { return number_; }
    double& operator*() { return number_; }
    double value_or(double other) const { return has_value() ? number_ : other; }
    void reset() { number_ = none; }

    friend bool operator==(OptionalNumber a, OptionalNumber b) {
        return a.has_value() == b.has_value() && (!a.has_value() || a.number_ == b.number_);
    }

  private:
    static constexpr double none = std::numeric_limits<double>::quiet_NaN();
    double number_ = none;
};

/// A text that many things share and nobody changes: the file that a thousand parts came from, the construction that a
/// hundred share. As large as a pointer, nothing to copy, and good wherever a std::string is read.
class Text {
  public:
    Text() = default;
    template <class T, class = std::enable_if_t<std::is_constructible_v<std::string, T&&> &&
                                                !std::is_same_v<std::decay_t<T>, Text>>>
    Text(T&& from) {
        std::string made(std::forward<T>(from));
        if (!made.empty()) held_ = new Held{std::move(made)};
    }
    Text(const Text& other) noexcept : held_(other.held_) {
        if (held_) held_->users.fetch_add(1, std::memory_order_relaxed);
    }
    Text(Text&& other) noexcept : held_(std::exchange(other.held_, nullptr)) {}
    Text& operator=(Text other) noexcept {
        std::swap(held_, other.held_);
        return *this;
    }
    ~Text() {
        if (held_) release();
    }

    const std::string& str() const {
        static const std::string none;
        return held_ ? held_->text : none;
    }
    operator const std::string&() const { return str(); }
    operator std::string_view() const { return str(); }

    bool empty() const { return !held_; }
    std::size_t size() const { return held_ ? held_->text.size() : 0; }
    char operator[](std::size_t i) const { return str()[i]; }
    std::size_t find(std::string_view piece) const { return str().find(piece); }
    bool starts_with(std::string_view piece) const { return str().starts_with(piece); }
    void clear() { *this = Text(); }

    friend bool operator==(const Text& a, const Text& b) { return a.held_ == b.held_ || a.str() == b.str(); }
    friend bool operator==(const Text& a, std::string_view b) { return a.str() == b; }
    friend bool operator==(const Text& a, const std::string& b) { return a.str() == b; }
    friend bool operator==(const Text& a, const char* b) { return a.str() == b; }
    friend bool operator<(const Text& a, const Text& b) { return a.str() < b.str(); }
    friend std::string operator+(std::string a, const Text& b) { return std::move(a += b.str()); }
    friend std::string operator+(const char* a, const Text& b) { return a + b.str(); }
    friend std::string operator+(const Text& a, std::string_view b) { return std::string(a.str()).append(b); }

  private:
    struct Held {
        std::string text;
        std::atomic<std::size_t> users = 1;
    };
    TUBEWRIGHT_API void release();
    Held* held_ = nullptr;  ///< none: empty
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
