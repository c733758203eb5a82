// The server over real lines of this machine's loopback.
#include "bench/station/server/server.hpp"

#include <gtest/gtest.h>

#include <arpa/inet.h>
#include <netinet/in.h>
#include <sys/socket.h>
#include <unistd.h>

#include <thread>

using namespace dropledger;
using namespace dropledger::station;

namespace {

class Line {
public:
    explicit Line(std::uint16_t port) : socket_(::socket(AF_INET, SOCK_STREAM, 0)) {
        sockaddr_in here{};
        here.sin_family = AF_INET;
        here.sin_port = htons(port);
        here.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
        EXPECT_EQ(::connect(socket_, reinterpret_cast<const sockaddr*>(&here), sizeof here), 0);
    }
    Line(const Line&) = delete;
    Line& operator=(const Line&) = delete;
    Line(Line&& other) noexcept : socket_(std::exchange(other.socket_, -1)) {}
    ~Line() {
        if (socket_ >= 0)
            ::close(socket_);
    }
    void say(std::string_view text) const {
        while (!text.empty()) {
            const ssize_t sent = ::send(socket_, text.data(), text.size(), MSG_NOSIGNAL);
            if (sent <= 0) // refused in the middle
                return;
            text.remove_prefix(static_cast<std::size_t>(sent));
        }
    }
    // Until the other end closes, or `last` has come.
    [[nodiscard]] std::string hear(std::string_view last = {}) const {
        std::string text;
        std::array<char, 4096> part{};
        while (last.empty() || text.find(last) == std::string::npos) {
            const ssize_t got = ::recv(socket_, part.data(), part.size(), 0);
            if (got <= 0)
                return text;
            text.append(part.data(), static_cast<std::size_t>(got));
        }
        return text;
    }

private:
    int socket_;
};

class ServerOnALine : public testing::Test {
protected:
    void SetUp() override {
        auto opened = Server::open(0, events_);
        ASSERT_TRUE(opened) << opened.error().message();
        server_ = std::move(*opened);
        const std::string address = server_->first_address();
        token_ = address.substr(address.find('=') + 1);
        const std::size_t colon = address.rfind(':', address.find('?'));
        port_ = static_cast<std::uint16_t>(std::stoi(address.substr(colon + 1)));
        thread_ = std::thread([this] { server_->run(site()); });
        cookie_ = cookie();
    }
    void TearDown() override {
        server_->stop();
        thread_.join();
    }

    static Site site() {
        const auto echo = [](const Request& request) {
            return Response{.type = "text/plain",
                            .body = request.form.value("word").value_or(request.body)};
        };
        const auto paper = [](const Request&) {
            return Response{.type = "application/pdf", .body = "%PDF-"};
        };
        const auto bug = [](const Request&) -> Response { throw BrokenInvariant("two and two"); };
        return {{{Method::get, "/", echo},
                 {Method::post, "/echo", echo, Haste::usual, 100},
                 {Method::get, "/paper", paper},
                 {Method::get, "/bug", bug},
                 {Method::get, "/events", {}, Haste::events}},
                [](unsigned status, const std::string& why) {
                    return std::to_string(status) + " " + why;
                }};
    }
    [[nodiscard]] std::string host() const {
        return "Host: 127.0.0.1:" + std::to_string(port_) + "\r\n";
    }
    [[nodiscard]] std::string own_origin() const {
        return "Origin: http://127.0.0.1:" + std::to_string(port_) + "\r\n";
    }
    [[nodiscard]] std::string cookie() const {
        const std::string answer =
            asked("GET /?token=" + token_ + " HTTP/1.1\r\n" + host() + "\r\n");
        const std::size_t begin = answer.find("station_");
        EXPECT_NE(begin, std::string::npos) << answer;
        return "Cookie: " + answer.substr(begin, answer.find(';', begin) - begin) + "\r\n";
    }
    [[nodiscard]] std::string asked(const std::string& request) const {
        const Line line(port_);
        line.say(request);
        return line.hear();
    }
    [[nodiscard]] std::string got(const std::string& path, const std::string& more = {}) const {
        return asked("GET " + path + " HTTP/1.1\r\n" + host() + cookie_ + more +
                     "Connection: close\r\n\r\n");
    }
    [[nodiscard]] std::string posted(const std::string& body, const std::string& more) const {
        return asked("POST /echo HTTP/1.1\r\n" + host() + cookie_ + more +
                     "Content-Type: application/x-www-form-urlencoded\r\nConnection: "
                     "close\r\nContent-Length: " +
                     std::to_string(body.size()) + "\r\n\r\n" + body);
    }

    EventHub events_;
    std::unique_ptr<Server> server_;
    std::string token_;
    std::uint16_t port_ = 0;
    std::string cookie_;
    std::thread thread_;
};

bool is(const std::string& answer, unsigned status) {
    return answer.starts_with("HTTP/1.1 " + std::to_string(status) + " ");
}

} // namespace

TEST_F(ServerOnALine, GivesTheCookieForTheTokenAndTakesItOutOfTheAddress) {
    const std::string answer = asked("GET /?token=" + token_ + " HTTP/1.1\r\n" + host() + "\r\n");
    EXPECT_TRUE(is(answer, 303)) << answer;
    EXPECT_NE(answer.find("Location: /\r\n"), std::string::npos);
    EXPECT_NE(answer.find("HttpOnly; SameSite=Strict"), std::string::npos);
}

TEST_F(ServerOnALine, RefusesWithoutTokenCookieOrOwnName) {
    EXPECT_TRUE(is(asked("GET / HTTP/1.1\r\n" + host() + "\r\n"), 403));
    EXPECT_TRUE(is(asked("GET /?token=0 HTTP/1.1\r\n" + host() + "\r\n"), 403));
    EXPECT_TRUE(is(asked("GET / HTTP/1.1\r\nHost: evil.example\r\n" + cookie_ + "\r\n"), 403));
    EXPECT_TRUE(
        is(asked("GET /?token=" + token_ + " HTTP/1.1\r\nHost: evil.example\r\n\r\n"), 403));
    EXPECT_TRUE(is(asked("GET /events HTTP/1.1\r\n" + host() + "\r\n"), 403));
    EXPECT_TRUE(is(got("/"), 200));
}

TEST_F(ServerOnALine, RefusesAChangeThatAnotherSiteAsksFor) {
    EXPECT_TRUE(is(posted("word=yes", ""), 403));
    EXPECT_TRUE(is(posted("word=yes", "Origin: http://evil.example\r\n"), 403));
    EXPECT_TRUE(is(posted("word=yes", own_origin() + "Sec-Fetch-Site: cross-site\r\n"), 403));
    const std::string answer = posted("word=yes", own_origin());
    EXPECT_TRUE(is(answer, 200)) << answer;
    EXPECT_TRUE(answer.ends_with("\r\n\r\nyes"));
}

TEST_F(ServerOnALine, AllowsNoScriptAndNoStyleInsideAPage) {
    const std::string answer = got("/");
    const std::size_t begin = answer.find("Content-Security-Policy: ");
    ASSERT_NE(begin, std::string::npos);
    const std::string policy = answer.substr(begin, answer.find('\r', begin) - begin);
    EXPECT_EQ(policy.find("unsafe"), std::string::npos) << policy;
    EXPECT_NE(policy.find("default-src 'none'"), std::string::npos) << policy;
    EXPECT_NE(policy.find("frame-ancestors 'none'"), std::string::npos) << policy;
}

TEST_F(ServerOnALine, LetsPaperAloneIntoAPageOfOurs) {
    const std::string paper = got("/paper");
    EXPECT_NE(paper.find("frame-ancestors 'self'"), std::string::npos) << paper;
    EXPECT_NE(paper.find("default-src 'none'"), std::string::npos) << paper;
    EXPECT_EQ(paper.find("script-src"), std::string::npos) << paper;
}

TEST_F(ServerOnALine, TellsWhatThereIsNotAndWhatIsNotTakenThere) {
    EXPECT_TRUE(is(got("/nowhere"), 404));
    EXPECT_TRUE(is(got("/../../etc/passwd"), 404));
    const std::string answer = got("/echo");
    EXPECT_TRUE(is(answer, 405)) << answer;
    EXPECT_NE(answer.find("Allow: POST\r\n"), std::string::npos);
}

TEST_F(ServerOnALine, RefusesABodyBeforeItIsRead) {
    const Line line(port_);
    line.say("POST /echo HTTP/1.1\r\n" + host() + cookie_ + own_origin() +
             "Content-Length: 999999999999\r\n\r\n");
    EXPECT_TRUE(is(line.hear(), 413));
}

TEST_F(ServerOnALine, RefusesABodyThatGrowsWithoutSayingHowLong) {
    const Line line(port_);
    line.say("POST /echo HTTP/1.1\r\n" + host() + cookie_ + own_origin() +
             "Transfer-Encoding: chunked\r\n\r\n");
    for (int i = 0; i < 20; ++i)
        line.say("10\r\n0123456789abcdef\r\n");
    EXPECT_TRUE(is(line.hear(), 413));
}

TEST_F(ServerOnALine, RefusesHeadersWithoutEndAndWhatIsNoRequest) {
    EXPECT_TRUE(is(asked("GET / HTTP/1.1\r\nX: " + std::string(20'000, 'x') + "\r\n\r\n"), 431));
    EXPECT_TRUE(is(asked("\x16\x03\x01 hello\r\n\r\n"), 400));
    EXPECT_TRUE(is(got("/"), 200));
}

TEST_F(ServerOnALine, AnswersABugOfOursAndGoesOn) {
    const std::string answer = got("/bug");
    EXPECT_TRUE(is(answer, 500)) << answer;
    EXPECT_NE(answer.find("two and two"), std::string::npos);
    EXPECT_TRUE(is(got("/"), 200));
}

TEST_F(ServerOnALine, TellsPagesWhatHappens) {
    events_.publish("bar", "a run is on");
    const Line line(port_);
    line.say("GET /events HTTP/1.1\r\n" + host() + cookie_ + "\r\n");
    EXPECT_NE(line.hear("a run is on").find("event: bar"), std::string::npos);
    events_.publish("bar", "it is over");
    EXPECT_NE(line.hear("it is over").find("data: it is over"), std::string::npos);
}

// Nobody reads on 200 lines while 20,000 events of 4 KB come: the lines' buffers fill up, what the
// server keeps does not grow, and a page is answered all the same.
TEST_F(ServerOnALine, BearsTwoHundredPagesThatSleep) {
    std::vector<Line> sleepers;
    for (int i = 0; i < 200; ++i) {
        sleepers.emplace_back(port_);
        sleepers.back().say("GET /events HTTP/1.1\r\n" + host() + cookie_ + "\r\n");
        ASSERT_NE(sleepers.back().hear("retry").size(), 0U);
    }
    EXPECT_EQ(events_.boxes(), 200U);
    const std::string much(4096, 'x');
    for (int i = 0; i < 20'000; ++i)
        events_.publish("live", much + std::to_string(i));
    EXPECT_TRUE(is(got("/"), 200));
    EXPECT_TRUE(is(posted("word=yes", own_origin()), 200));
}
