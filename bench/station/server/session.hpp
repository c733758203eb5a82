// One line to a browser: reads a request, has it answered, writes the answer; again and again.
//
// Assumes: everything but a slow handler happens on the one thread that runs the io context. Only
// server.cpp and session.cpp include this: Beast is slow to compile.
#pragma once

#include "bench/station/server/events.hpp"
#include "bench/station/server/guard.hpp"
#include "bench/station/server/routes.hpp"

#include <boost/asio/ip/tcp.hpp>
#include <boost/asio/thread_pool.hpp>

#include <cstddef>
#include <functional>
#include <optional>
#include <string>

namespace dropledger::station {

namespace asio = boost::asio;

constexpr std::size_t most_lines = 600; // open at once

// What all sessions of a server have in common.
struct Shared {
    Guard guard;
    EventHub& events;
    asio::thread_pool& workers;
    std::optional<Routes> routes = std::nullopt;
    std::function<std::string(unsigned, const std::string&)> refusal_page = {};
    std::size_t lines = 0; // open now
};

void begin_session(asio::ip::tcp::socket&& line, Shared& shared);

} // namespace dropledger::station
