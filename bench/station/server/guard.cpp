#include "bench/station/server/guard.hpp"

#include "analysis/base/result.hpp"
#include "analysis/base/text.hpp"

#include <fmt/format.h>

#include <array>
#include <cerrno>

#include <sys/random.h>

namespace dropledger::station {

namespace {

// Takes as long for any text of this length.
bool same_secret(std::string_view a, std::string_view b) {
    if (a.size() != b.size())
        return false;
    unsigned differ = 0;
    for (std::size_t i = 0; i < a.size(); ++i)
        differ |= static_cast<unsigned>(static_cast<unsigned char>(a[i])) ^
                  static_cast<unsigned>(static_cast<unsigned char>(b[i]));
    return differ == 0;
}

} // namespace

std::string random_token() {
    std::array<unsigned char, 32> bytes{};
    if (::getrandom(bytes.data(), bytes.size(), 0) != static_cast<ssize_t>(bytes.size()))
        throw BrokenInvariant(fmt::format("the system gives no random bytes ({})", errno));
    std::string text;
    for (const unsigned char byte : bytes)
        text += fmt::format("{:02x}", static_cast<unsigned>(byte));
    return text;
}

Guard::Guard(std::uint16_t port, std::string first_token, std::string cookie_token)
    : port_(fmt::to_string(port)), first_token_(std::move(first_token)),
      cookie_token_(std::move(cookie_token)), cookie_name_("station_" + port_) {
}

std::string Guard::first_address() const {
    return fmt::format("http://127.0.0.1:{}/?token={}", port_, first_token_);
}

std::optional<std::string> Guard::welcome(std::string_view token) const {
    if (!same_secret(token, first_token_))
        return std::nullopt;
    return fmt::format("{}={}; Path=/; HttpOnly; SameSite=Strict", cookie_name_, cookie_token_);
}

bool Guard::knows_host(std::string_view host) const {
    return host == "127.0.0.1:" + port_ || host == "localhost:" + port_;
}

bool Guard::has_cookie(std::string_view header) const {
    for (const std::string_view part : split(header, ';')) {
        const std::string_view one = trim(part);
        const std::size_t equals = one.find('=');
        if (equals != std::string_view::npos && one.substr(0, equals) == cookie_name_ &&
            same_secret(one.substr(equals + 1), cookie_token_))
            return true;
    }
    return false;
}

std::optional<std::string> Guard::refusal(const Sender& sender, bool changes) const {
    if (!knows_host(sender.host))
        return "This name does not lead here. Open the address that the station printed.";
    if (!has_cookie(sender.cookie))
        return "This browser was not let in yet. Open the address that the station printed: it "
               "ends with a token.";
    const bool foreign = !sender.fetch_site.empty() && sender.fetch_site != "same-origin" &&
                         sender.fetch_site != "none";
    const bool own = sender.origin == "http://" + sender.host;
    if (foreign || (changes && !own) || (!sender.origin.empty() && !own))
        return "This was asked for by a page that is none of ours.";
    return std::nullopt;
}

} // namespace dropledger::station
