// Who may ask: whoever opened the address that was printed, in pages that came from here.
//
// Assumes: the server listens on the loopback only. Three things are looked at, in this order:
//   1. `Host` names the loopback and our port: a foreign name that was made to lead here is
//      refused.
//   2. The cookie that the first address gave. It is SameSite=Strict and HttpOnly: no other site's
//      page can send it, no script can read it.
//   3. What changes something comes from a page of ours: `Origin` says so, and `Sec-Fetch-Site`
//      where the browser sends it does not say otherwise.
// Undefined when: never; what is missing is refused.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

namespace dropledger::station {

// 32 random bytes in hex.
[[nodiscard]] std::string random_token();

// What a request says of where it comes from; empty: it does not say.
struct Sender {
    std::string host;
    std::string cookie; // the whole header
    std::string origin;
    std::string fetch_site;
};

class Guard {
public:
    Guard(std::uint16_t port, std::string first_token, std::string cookie_token);

    [[nodiscard]] std::string first_address() const;
    // Set-Cookie for whoever shows the first token.
    [[nodiscard]] std::optional<std::string> welcome(std::string_view token) const;
    // Why not; nothing where it may be answered. `changes`: the method is no GET.
    [[nodiscard]] std::optional<std::string> refusal(const Sender& sender, bool changes) const;
    [[nodiscard]] bool knows_host(std::string_view host) const;

private:
    [[nodiscard]] bool has_cookie(std::string_view header) const;

    std::string port_;
    std::string first_token_;
    std::string cookie_token_;
    std::string cookie_name_;
};

} // namespace dropledger::station
