// Serves pages over HTTP/1.1 on the loopback: one thread for all lines, a few for slow handlers.
//
// Assumes: nothing of a request is trusted before the guard has let it in; a body is not read
// before its length is known to be bearable. Limits, each refused in words: 8 KiB of headers (431),
// the route's bytes of body (413), 10 s for headers, 60 s for a body, 600 lines at once (what comes
// on top is closed at once).
// Undefined when: never; a handler that throws is a bug of ours and answered with 500.
#pragma once

#include "analysis/base/result.hpp"
#include "bench/station/server/events.hpp"
#include "bench/station/server/guard.hpp"
#include "bench/station/server/routes.hpp"

#include <cstdint>
#include <functional>
#include <memory>
#include <string>
#include <vector>

namespace dropledger::station {

struct Site {
    std::vector<Route> routes;
    // For a person: what was refused, and why.
    std::function<std::string(unsigned status, const std::string& why)> refusal_page;
};

class Server {
public:
    // Listens at once; port 0: any that is free.
    [[nodiscard]] static Result<std::unique_ptr<Server>> open(std::uint16_t port, EventHub& events);
    Server(const Server&) = delete;
    Server& operator=(const Server&) = delete;
    ~Server();

    [[nodiscard]] std::string first_address() const;
    void run(Site site); // until stop() is called
    void stop();         // on any thread

private:
    class Parts;
    explicit Server(std::unique_ptr<Parts> parts);
    std::unique_ptr<Parts> parts_;
};

} // namespace dropledger::station
