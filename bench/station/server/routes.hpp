// Which handler answers which path: a table.
//
// Assumes: a path's star stands for one part that is not empty.
#pragma once

#include "bench/station/server/request.hpp"

#include <cstddef>
#include <functional>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace dropledger::station {

using Handler = std::function<Response(const Request&)>;

enum class Haste : std::uint8_t {
    usual,   // on a thread of its own kind: may take a second
    at_once, // on the line's own thread: must not wait for anything
    events,  // the connection stays open and is told what happens; the handler is not called
};

constexpr std::size_t most_form_bytes = std::size_t{64} << 10U;

struct Route {
    Method method = Method::get;
    std::string path; // "/verdict/*"
    Handler handler;
    Haste haste = Haste::usual;
    std::size_t most_bytes = most_form_bytes; // of a body
};

struct Match {
    const Route* route = nullptr;   // none: 404, or 405 where `allowed` is not empty
    std::vector<std::string> parts; // what the stars stand for
    std::string allowed;            // the methods that this path has
};

class Routes {
public:
    explicit Routes(std::vector<Route> table) : table_(std::move(table)) {}
    [[nodiscard]] Match match(std::string_view method, std::string_view path) const;

private:
    std::vector<Route> table_;
};

} // namespace dropledger::station
