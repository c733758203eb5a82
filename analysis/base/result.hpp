// A value, or an error that says who must act, where, what is wrong and what to do.
//
// Assumes: a dropped result is a bug, hence [[nodiscard]]. Asking a failed result for its value, or
// a good one for its error, throws std::bad_variant_access: nothing is ever read that is not there.
// An error is handed on by an early return, by and_then() and transform(), or by what results.hpp
// offers for several results.
#pragma once

#include <functional>
#include <stdexcept>
#include <string>
#include <type_traits>
#include <utility>
#include <variant>

namespace dropledger {

// Who must act; the exit status follows from it (see exit_status).
enum class ErrorKind {
    usage,  // the person who typed the command: 64
    input,  // whoever made the file: 65
    device, // device, disk, permissions: 74
};

struct Error {
    ErrorKind kind = ErrorKind::input;
    std::string where;  // "file:line", "option --x", a port; may be empty
    std::string what;   // the fact, for a person
    std::string remedy; // what to do next; may be empty

    // "where: what; remedy"
    [[nodiscard]] std::string message() const;
};

[[nodiscard]] inline Error usage_error(std::string where, std::string what,
                                       std::string remedy = {}) {
    return {ErrorKind::usage, std::move(where), std::move(what), std::move(remedy)};
}
[[nodiscard]] inline Error input_error(std::string where, std::string what,
                                       std::string remedy = {}) {
    return {ErrorKind::input, std::move(where), std::move(what), std::move(remedy)};
}
[[nodiscard]] inline Error device_error(std::string where, std::string what,
                                        std::string remedy = {}) {
    return {ErrorKind::device, std::move(where), std::move(what), std::move(remedy)};
}

[[nodiscard]] int exit_status(ErrorKind kind);

// A broken promise of our own code, with its evidence. Caught only in main, which exits 70.
class BrokenInvariant : public std::logic_error {
public:
    using std::logic_error::logic_error;
};

template <class T> class [[nodiscard]] Result {
public:
    Result(T value) : state_(std::in_place_index<0>, std::move(value)) {}
    Result(Error error) : state_(std::in_place_index<1>, std::move(error)) {}

    [[nodiscard]] explicit operator bool() const { return state_.index() == 0; }
    [[nodiscard]] const T& value() const& { return std::get<0>(state_); }
    [[nodiscard]] T& value() & { return std::get<0>(state_); }
    [[nodiscard]] T&& value() && { return std::get<0>(std::move(state_)); }
    [[nodiscard]] const T& operator*() const& { return value(); }
    [[nodiscard]] T& operator*() & { return value(); }
    [[nodiscard]] T&& operator*() && { return std::move(*this).value(); }
    [[nodiscard]] const T* operator->() const { return &value(); }
    [[nodiscard]] T* operator->() { return &value(); }
    [[nodiscard]] const Error& error() const { return std::get<1>(state_); }

    // The result of `next` on the value, or the error.
    template <class Next>
    [[nodiscard]] auto and_then(Next&& next) && -> std::invoke_result_t<Next, T&&> {
        if (!*this)
            return error();
        return std::invoke(std::forward<Next>(next), std::move(*this).value());
    }
    // What `map` makes of the value, or the error.
    template <class Map>
    [[nodiscard]] auto transform(Map&& map) && -> Result<std::invoke_result_t<Map, T&&>> {
        if (!*this)
            return error();
        return std::invoke(std::forward<Map>(map), std::move(*this).value());
    }

private:
    std::variant<T, Error> state_;
};

struct Done {};
using Status = Result<Done>;

} // namespace dropledger
