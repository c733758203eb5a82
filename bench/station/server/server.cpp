#include "bench/station/server/server.hpp"

#include "bench/station/server/session.hpp"

#include <boost/asio/io_context.hpp>
#include <boost/asio/steady_timer.hpp>

#include <fmt/format.h>

#include <fcntl.h>

namespace dropledger::station {

namespace {

using Failure = boost::system::error_code;

constexpr std::chrono::seconds ping_every{15}; // so that a line that is gone is noticed
constexpr std::size_t handler_threads = 3;

Error no_port(std::uint16_t port, const Failure& why) {
    return device_error(fmt::format("127.0.0.1:{}", port),
                        fmt::format("cannot be listened on: {}", why.message()),
                        "end what listens there, or name another port");
}

// Asio leaves a socket to every process that is started from here: a browser, say.
void keep_from_children(int socket) {
    static_cast<void>(::fcntl(socket, F_SETFD, FD_CLOEXEC));
}

} // namespace

class Server::Parts {
public:
    explicit Parts(EventHub& events)
        : events_(events), acceptor_(io_), ping_(io_), workers_(handler_threads) {}

    [[nodiscard]] Status listen(std::uint16_t port) {
        const asio::ip::tcp::endpoint here(asio::ip::address_v4::loopback(), port);
        Failure failed;
        acceptor_.open(here.protocol(), failed);
        if (!failed)
            acceptor_.set_option(asio::socket_base::reuse_address(true), failed);
        if (!failed)
            acceptor_.bind(here, failed);
        if (!failed)
            acceptor_.listen(asio::socket_base::max_listen_connections, failed);
        if (failed)
            return no_port(port, failed);
        keep_from_children(acceptor_.native_handle());
        shared_.emplace(Shared{
            .guard = Guard(acceptor_.local_endpoint().port(), random_token(), random_token()),
            .events = events_,
            .workers = workers_});
        return Done{};
    }
    void run(Site site) {
        shared_->routes.emplace(std::move(site.routes));
        shared_->refusal_page = std::move(site.refusal_page);
        accept();
        ping();
        io_.run();
        workers_.join();
    }
    void stop() { io_.stop(); }
    [[nodiscard]] const Guard& guard() const { return shared_->guard; }

private:
    void accept() {
        acceptor_.async_accept([this](const Failure& failed, asio::ip::tcp::socket line) {
            if (!failed)
                keep_from_children(line.native_handle());
            if (!failed && shared_->lines < most_lines)
                begin_session(std::move(line), *shared_);
            if (acceptor_.is_open())
                accept();
        });
    }
    void ping() {
        events_.publish("ping", "", EventHub::Lasts::no);
        ping_.expires_after(ping_every);
        ping_.async_wait([this](const Failure& failed) {
            if (!failed)
                ping();
        });
    }

    EventHub& events_;
    std::optional<Shared> shared_; // outlives the sessions, which the io context holds
    asio::io_context io_{1};
    asio::ip::tcp::acceptor acceptor_;
    asio::steady_timer ping_;
    asio::thread_pool workers_;
};

Server::Server(std::unique_ptr<Parts> parts) : parts_(std::move(parts)) {
}
Server::~Server() = default;

Result<std::unique_ptr<Server>> Server::open(std::uint16_t port, EventHub& events) {
    auto parts = std::make_unique<Parts>(events);
    if (const Status heard = parts->listen(port); !heard)
        return heard.error();
    return std::unique_ptr<Server>(new Server(std::move(parts)));
}

std::string Server::first_address() const {
    return parts_->guard().first_address();
}

void Server::run(Site site) {
    parts_->run(std::move(site));
}

void Server::stop() {
    parts_->stop();
}

} // namespace dropledger::station
