#include "bench/station/server/session.hpp"

#include "analysis/base/result.hpp"

#include <boost/asio/dispatch.hpp>
#include <boost/asio/post.hpp>
#include <boost/asio/write.hpp>
#include <boost/beast/core.hpp>
#include <boost/beast/http.hpp>

#include <fmt/format.h>

#include <array>
#include <limits>
#include <memory>

namespace dropledger::station {

namespace {

namespace beast = boost::beast;
namespace http = beast::http;

constexpr std::uint32_t most_header_bytes = 8U << 10U;
constexpr std::chrono::seconds header_patience{60}; // of a line that is kept open, too
constexpr std::chrono::seconds body_patience{60};
constexpr std::chrono::seconds write_patience{30};

// Nothing but our own files, no script or style inside a page, in nobody's frame; paper may be in ours.
constexpr const char* policy =
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src "
    "'self'; worker-src 'self'; frame-src 'self'; form-action 'self'; base-uri 'none'; "
    "frame-ancestors 'none'";
constexpr const char* policy_of_paper =
    "default-src 'none'; style-src 'unsafe-inline'; "
    "object-src 'self'; base-uri 'none'; frame-ancestors 'self'";

std::string text_of(beast::string_view text) {
    return {text.data(), text.size()};
}

class Session : public std::enable_shared_from_this<Session> {
public:
    Session(asio::ip::tcp::socket&& line, Shared& shared)
        : stream_(std::move(line)), shared_(shared) {
        ++shared_.lines;
    }
    Session(const Session&) = delete;
    Session& operator=(const Session&) = delete;
    ~Session() { --shared_.lines; }

    void read_header() {
        parser_.emplace();
        parser_->header_limit(most_header_bytes);
        parser_->body_limit(std::numeric_limits<std::uint64_t>::max()); // until the route is known
        stream_.expires_after(header_patience);
        http::async_read_header(
            stream_, buffer_, *parser_,
            [self = shared_from_this()](const beast::error_code& failed, std::size_t) {
                if (!failed)
                    return self->take_header();
                if (failed == http::error::header_limit)
                    return self->refuse(431, "The headers are too long.");
                if (failed != http::error::end_of_stream && failed != beast::error::timeout)
                    self->refuse(400, "This is no request.");
            });
    }

private:
    void take_header();
    void take_first_token(std::string_view query);
    void read_body();
    void take_body();
    void answer_by(const Handler& handler);
    [[nodiscard]] Response handled(const Handler& handler) const;
    void refuse(unsigned status, const std::string& why);
    void answer(Response response);
    void close();
    void begin_events();
    void watch_for_the_end();
    void pump();
    [[nodiscard]] std::string header(http::field field) const {
        return text_of(parser_->get()[field]);
    }

    beast::tcp_stream stream_;
    beast::flat_buffer buffer_;
    std::optional<http::request_parser<http::string_body>> parser_;
    std::optional<http::response<http::string_body>> written_;
    Shared& shared_;
    Match match_;
    Request request_;
    bool keep_ = false; // the line, after the answer
    std::shared_ptr<EventBox> box_;
    std::string events_; // on their way out
    std::array<char, 64> unasked_{};
};

Sender sender_of(const http::request<http::string_body>& request) {
    const auto of = [&](auto name) { return text_of(request[name]); };
    return {.host = of(http::field::host),
            .cookie = of(http::field::cookie),
            .origin = of(http::field::origin),
            .fetch_site = of("Sec-Fetch-Site")};
}

void Session::take_header() {
    const auto& head = parser_->get();
    const std::string target = text_of(head.target());
    const std::size_t mark = target.find('?');
    const std::string_view query =
        mark == std::string::npos ? std::string_view{} : std::string_view(target).substr(mark + 1);
    request_ = Request{};
    request_.path = target.substr(0, mark);
    request_.query = Fields::parse(query);
    const bool changes = head.method() != http::verb::get;
    if (!changes && request_.path == "/" && request_.query.value("token") &&
        shared_.guard.knows_host(header(http::field::host)))
        return take_first_token(*request_.query.value("token"));
    if (const auto why = shared_.guard.refusal(sender_of(head), changes))
        return refuse(403, *why);
    match_ = shared_.routes->match(text_of(head.method_string()), request_.path);
    if (match_.route == nullptr && !match_.allowed.empty())
        return refuse(405, "This address does not take that.");
    if (match_.route == nullptr)
        return refuse(404, "There is no such page.");
    request_.method = match_.route->method;
    request_.parts = match_.parts;
    if (parser_->content_length().value_or(0) > match_.route->most_bytes)
        return refuse(413, fmt::format("That is more than the {} bytes that can be taken here.",
                                       match_.route->most_bytes));
    read_body();
}

void Session::take_first_token(std::string_view token) {
    const auto cookie = shared_.guard.welcome(token);
    if (!cookie)
        return refuse(403, "The token is wrong or old. Open the address that the station printed "
                           "when it was started last.");
    Response response = see("/");
    response.cookie = *cookie;
    keep_ = false;
    answer(std::move(response));
}

void Session::read_body() {
    parser_->body_limit(match_.route->most_bytes);
    stream_.expires_after(body_patience);
    http::async_read(stream_, buffer_, *parser_,
                     [self = shared_from_this()](const beast::error_code& failed, std::size_t) {
                         if (!failed)
                             return self->take_body();
                         if (failed == http::error::body_limit)
                             self->refuse(413, "That is more than can be taken here.");
                     });
}

void Session::take_body() {
    keep_ = parser_->get().keep_alive();
    if (header(http::field::content_type).starts_with("application/x-www-form-urlencoded"))
        request_.form = Fields::parse(parser_->get().body());
    else
        request_.body = std::move(parser_->get().body());
    const Route& route = *match_.route;
    if (route.haste == Haste::events)
        return begin_events();
    if (route.haste == Haste::at_once)
        return answer(handled(route.handler));
    stream_.expires_never();
    asio::post(shared_.workers, [self = shared_from_this()] {
        auto response = self->handled(self->match_.route->handler);
        asio::post(self->stream_.get_executor(), [self, response = std::move(response)]() mutable {
            self->answer(std::move(response));
        });
    });
}

Response Session::handled(const Handler& handler) const {
    const auto bug = [this](const char* what) {
        return Response{
            .status = 500,
            .body = shared_.refusal_page(
                500, fmt::format("A bug of ours; please report it with this line: {}", what))};
    };
    try {
        return handler(request_);
    } catch (const std::exception& broken) {
        return bug(broken.what());
    }
}

// What is left of the request is not read.
void Session::refuse(unsigned status, const std::string& why) {
    keep_ = false;
    answer({.status = status, .body = shared_.refusal_page(status, why), .allow = match_.allowed});
}

void Session::answer(Response response) {
    written_.emplace();
    auto& out = *written_;
    out.result(response.status);
    out.version(11);
    out.keep_alive(keep_);
    out.set(http::field::content_type, response.type);
    out.set("Content-Security-Policy",
            response.type == "application/pdf" ? policy_of_paper : policy);
    out.set("X-Content-Type-Options", "nosniff");
    out.set("Referrer-Policy", "same-origin");
    out.set("Cross-Origin-Resource-Policy", "same-origin");
    out.set("Cross-Origin-Opener-Policy", "same-origin");
    out.set(http::field::cache_control, "no-store");
    for (const auto& [field, value] : {std::pair{http::field::location, response.location},
                                       std::pair{http::field::allow, response.allow},
                                       std::pair{http::field::set_cookie, response.cookie}})
        if (!value.empty())
            out.set(field, value);
    if (!response.save_as.empty())
        out.set(http::field::content_disposition,
                "attachment; filename*=UTF-8''" + encoded(response.save_as));
    out.body() = std::move(response.body);
    out.prepare_payload();
    stream_.expires_after(write_patience);
    http::async_write(stream_, out,
                      [self = shared_from_this()](const beast::error_code& failed, std::size_t) {
                          if (!failed && self->keep_)
                              return self->read_header();
                          self->close();
                      });
}

void Session::close() {
    beast::error_code ignored;
    stream_.socket().shutdown(asio::ip::tcp::socket::shutdown_send, ignored);
}

void Session::begin_events() {
    // Called on any thread; a line that is gone is not woken.
    const auto wake = [weak = weak_from_this(), executor = stream_.get_executor()] {
        asio::post(executor, [weak] {
            if (const auto self = weak.lock())
                self->pump();
        });
    };
    events_ = fmt::format("HTTP/1.1 200 OK\r\nContent-Type: text/event-stream\r\nCache-Control: "
                          "no-store\r\nX-Content-Type-Options: nosniff\r\nContent-Security-Policy: "
                          "{}\r\nConnection: close\r\n\r\nretry: 1000\n\n",
                          policy);
    box_ = shared_.events.join(wake);
    stream_.expires_never();
    watch_for_the_end();
    stream_.expires_after(write_patience); // of writing: the reading is under way
    asio::async_write(stream_, asio::buffer(events_),
                      [self = shared_from_this()](const beast::error_code& failed, std::size_t) {
                          self->events_.clear();
                          if (!failed)
                              self->pump();
                      });
}

// Also what keeps a line alive on which nothing is written.
void Session::watch_for_the_end() {
    stream_.async_read_some(
        asio::buffer(unasked_),
        [self = shared_from_this()](const beast::error_code& failed, std::size_t) {
            if (!failed)
                return self->watch_for_the_end();
            self->box_.reset();
        });
}

// One write at a time; what comes meanwhile waits in the box, one event a name.
void Session::pump() {
    if (!events_.empty() || !box_)
        return;
    events_ = box_->take();
    if (events_.empty())
        return;
    stream_.expires_after(write_patience);
    asio::async_write(stream_, asio::buffer(events_),
                      [self = shared_from_this()](const beast::error_code& failed, std::size_t) {
                          self->events_.clear();
                          if (!failed)
                              self->pump();
                      });
}

} // namespace

void begin_session(asio::ip::tcp::socket&& line, Shared& shared) {
    const auto session = std::make_shared<Session>(std::move(line), shared);
    session->read_header();
}

} // namespace dropledger::station
