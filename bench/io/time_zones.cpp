#include "bench/io/time_zones.hpp"

#include <fmt/format.h>

#include <array>
#include <cstdlib>
#include <ctime>
#include <fstream>
#include <map>
#include <mutex>
#include <optional>

namespace dropledger::files {

namespace {

constexpr const char* folder = "/usr/share/zoneinfo";

class ZoneOfProcess {
public:
    explicit ZoneOfProcess(const std::string& name) {
        if (const char* const before = std::getenv("TZ"))
            before_ = before;
        set(name);
    }
    ~ZoneOfProcess() { set(before_); }
    ZoneOfProcess(const ZoneOfProcess&) = delete;
    ZoneOfProcess& operator=(const ZoneOfProcess&) = delete;
    ZoneOfProcess(ZoneOfProcess&&) = delete;
    ZoneOfProcess& operator=(ZoneOfProcess&&) = delete;

    [[nodiscard]] static std::int64_t minutes_at(std::int64_t utc_s) {
        const std::time_t time = utc_s;
        std::tm local{};
        ::localtime_r(&time, &local);
        return local.tm_gmtoff / 60;
    }

private:
    static void set(const std::optional<std::string>& name) {
        if (name)
            ::setenv("TZ", name->c_str(), 1);
        else
            ::unsetenv("TZ");
        ::tzset();
    }

    std::optional<std::string> before_;
};

bool has_file(const std::string& name) {
    if (name.empty() || name.front() == '/' || name.find("..") != std::string::npos)
        return false;
    std::ifstream file(fmt::format("{}/{}", folder, name), std::ios::binary);
    std::array<char, 4> magic{};
    return file.read(magic.data(), magic.size()) &&
           std::string_view(magic.data(), magic.size()) == "TZif";
}

// The first second at which the later offset holds, between two times that differ in it.
std::int64_t change_between(std::int64_t before_s, std::int64_t after_s) {
    const std::int64_t minutes = ZoneOfProcess::minutes_at(before_s);
    while (after_s - before_s > 1) {
        const std::int64_t middle_s = before_s + (after_s - before_s) / 2;
        (ZoneOfProcess::minutes_at(middle_s) == minutes ? before_s : after_s) = middle_s;
    }
    return after_s;
}

} // namespace

Result<TimeZone> named_zone(const std::string& name) {
    constexpr std::int64_t step_s =
        std::int64_t{86'400} * 5;                 // no zone changes there and back within
    constexpr std::int64_t end_s = 4'102'444'800; // 2100
    if (!has_file(name))
        return Error{ErrorKind::usage, "time zone",
                     fmt::format("'{}' is no time zone that this computer knows", name),
                     "give one by its place, say Europe/Berlin; the zones come with Debian's "
                     "package tzdata"};
    static std::mutex one_at_a_time;
    static std::map<std::string, TimeZone>
        known; // each is asked for once: threads show local times, too
    const std::lock_guard lock(one_at_a_time);
    if (const auto before = known.find(name); before != known.end())
        return before->second;
    const ZoneOfProcess zone(name);
    TimeZone found{name, {{0, ZoneOfProcess::minutes_at(0)}}};
    for (std::int64_t at_s = 0; at_s < end_s; at_s += step_s)
        if (const auto minutes = ZoneOfProcess::minutes_at(at_s + step_s);
            minutes != found.changes.back().minutes)
            found.changes.push_back({change_between(at_s, at_s + step_s), minutes});
    known.emplace(name, found);
    return found;
}

} // namespace dropledger::files
