#include "bench/recorder/protocol/recovery.hpp"

#include "bench/recorder/protocol/lines/controller_text.hpp"

#include "analysis/base/shell_word.hpp"
#include "analysis/base/text.hpp"
#include "analysis/droplog/line.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <filesystem>
#include <fstream>
#include <limits>
#include <map>
#include <utility>

namespace dropledger::recorder {

namespace {

using droplog::LineName;

class LogWalk {
public:
    LogWalk(const std::string& path, const LiveTally::Watcher& settled) : path_(path) {
        found_.tally.watch(settled);
    }

    [[nodiscard]] Status take(std::string_view line);
    void end_at(std::uint64_t bytes) { found_.torn_bytes = bytes - found_.whole_bytes; }
    [[nodiscard]] Result<Recovered> finish();

private:
    [[nodiscard]] Status take_whole(const droplog::Record& record, std::string_view line);
    [[nodiscard]] Status take_behind_break(const droplog::Record& record);
    void take_sent(std::string_view sent);
    void take_boot(std::string_view line);
    [[nodiscard]] Status take_seal(std::string_view line);
    void take_host(const droplog::Record& record, std::string_view line);
    void take_setting(std::string_view key, std::string value);
    void take_channel(const std::vector<std::string_view>& fields);
    void take_controller(const droplog::Record& record, std::string_view line);
    void take_state(const droplog::Record& record, std::string_view line);
    void end(std::string reason);
    void wind_up(std::string reason);
    void go_on();
    [[nodiscard]] std::optional<std::int64_t> number(std::string_view key) const;
    [[nodiscard]] bool read_order();
    [[nodiscard]] Error broken_seal() const;
    [[nodiscard]] Error refusal(std::string what, std::string remedy) const;

    std::string path_;
    std::uint64_t line_number_ = 0;
    bool closed_ = false;
    std::map<std::string, std::string, std::less<>> settings_;
    Recovered found_;
};

Error LogWalk::refusal(std::string what, std::string remedy) const {
    return input_error(fmt::format("{}:{}", path_, line_number_), std::move(what),
                       std::move(remedy));
}

Status LogWalk::take(std::string_view line) {
    ++line_number_;
    const droplog::Record record = droplog::decode(line);
    if (line_number_ == 1 && record.name != LineName::host_droplog)
        return refusal("not the first line of a droplog", "give the log of the run that broke off");
    found_.broken = found_.broken || record.name == LineName::damaged;
    return found_.broken ? take_behind_break(record) : take_whole(record, line);
}

Status LogWalk::take_behind_break(const droplog::Record& record) {
    if (record.name == LineName::host_seal || record.name == LineName::host_close)
        return broken_seal();
    return Done{};
}

Status LogWalk::take_whole(const droplog::Record& record, std::string_view line) {
    found_.whole_bytes += line.size() + 1;
    if (record.name == LineName::host_seal)
        return take_seal(line);
    closed_ = closed_ || record.name == LineName::host_close;
    if (record.name != LineName::host_close)
        found_.chain.add(std::string{line} + '\n');
    if (record.from_controller())
        take_controller(record, line);
    else
        take_host(record, line);
    return Done{};
}

Status LogWalk::take_seal(std::string_view line) {
    const auto fields = droplog::fields_of(*droplog::checked_body(line));
    const bool count_fits = parse_uint(fields[1]) == found_.chain.lines();
    const std::string hash = droplog::to_hex(found_.chain.seal());
    if (count_fits && fields[2] == hash)
        return Done{};
    return broken_seal();
}

Error LogWalk::broken_seal() const {
    return refusal("the seal does not fit the lines before it: the log was changed or damaged",
                   "keep it as it is and record a new run; dropledger check tells more");
}

void LogWalk::take_host(const droplog::Record& record, std::string_view line) {
    const auto body = droplog::checked_body(line);
    if (!body)
        return;
    const auto fields = droplog::fields_of(*body);
    if (record.name == LineName::host_droplog)
        found_.run_id = percent_decode(fields[2]).value_or("");
    else if (record.name == LineName::host_set)
        settings_[std::string{fields[1]}] = percent_decode(fields[2]).value_or("");
    else if (record.name == LineName::host_channel)
        take_channel(fields);
    else if (record.name == LineName::host_note && !found_.next)
        found_.remarks.push_back(percent_decode(fields[1]).value_or(""));
    else if (record.name == LineName::host_sent)
        take_sent(percent_decode(fields[1]).value_or(""));
    else if (record.name == LineName::host_ending)
        wind_up(percent_decode(fields[1]).value_or(""));
}

void LogWalk::wind_up(std::string reason) {
    found_.end_reason = std::move(reason);
    found_.is_wound_up = true;
}

void LogWalk::take_sent(std::string_view sent) {
    found_.ordered = found_.ordered || sent.starts_with("arm,");
    if (!sent.starts_with("go*"))
        return;
    found_.start_open = true;
    if (found_.state == ControllerState::armed)
        go_on();
}

// What a start of this log has asked for by `go` is not over with the start before it.
void LogWalk::go_on() {
    if (!found_.is_wound_up && leaves_drops(found_.end_reason, found_.starts))
        found_.end_reason.clear();
}

void LogWalk::take_channel(const std::vector<std::string_view>& fields) {
    const auto channel = parse_int(fields[1]);
    if (!channel || *channel < 0 || *channel > droplog::greatest_channel)
        return;
    found_.channel_settings.push_back({static_cast<int>(*channel), std::string{fields[2]},
                                       percent_decode(fields[3]).value_or("")});
    found_.tally.take_setting(static_cast<int>(*channel), fields[2], fields[3]);
}

void LogWalk::take_boot(std::string_view line) {
    const std::string boot = field(line, boot_field);
    if (boot != found_.boot && found_.next) {
        found_.state = ControllerState::idle;
        found_.start_open = false;
        found_.reset = true;
        end("reset");
        found_.next.reset();
        found_.tally.reboot();
    }
    found_.boot = boot;
    found_.bench.keep(line);
}

void LogWalk::take_controller(const droplog::Record& record, std::string_view line) {
    if (!found_.next && found_.boot.empty())
        found_.first = record.seq;
    if (record.name == LineName::hello)
        take_boot(line);
    // A line that contradicts an earlier one of its SEQ stands behind it.
    if (found_.next && static_cast<std::int32_t>(record.seq - *found_.next) < 0) {
        ++found_.conflicting;
        return;
    }
    found_.missing += found_.next ? record.seq - *found_.next : 0;
    if (record.name == LineName::beat)
        found_.lost = std::max(found_.lost, record.count);
    found_.next = record.seq + 1;
    take_state(record, line);
    found_.tally.take(record, line);
}

void LogWalk::take_state(const droplog::Record& record, std::string_view line) {
    found_.state = after(found_.state, record.name);
    const bool starts = record.name == LineName::started;
    found_.started = found_.started || starts;
    const bool asked =
        starts ? std::exchange(found_.start_open, false) : found_.state == ControllerState::started;
    found_.starts += starts ? 1 : 0;
    if (!asked && (starts || record.name == LineName::drop)) {
        found_.unasked = true;
        end(unasked_start);
    }
    if (record.name == LineName::halted)
        end(halt_reason(line));
}

// What ended the run first is why it ended.
void LogWalk::end(std::string reason) {
    if (found_.end_reason.empty())
        found_.end_reason = std::move(reason);
}

std::optional<std::int64_t> LogWalk::number(std::string_view key) const {
    const auto found = settings_.find(key);
    return found == settings_.end() ? std::nullopt : parse_int(found->second);
}

bool LogWalk::read_order() {
    const auto named = settings_.find("mode");
    const auto mode = named == settings_.end() ? std::nullopt : droplog::mode_of(named->second);
    const auto speed_um_s = number("speed_um_s");
    const auto drops = number("drops");
    const auto mask = number("channel_mask");
    if (!mode || !speed_um_s || !drops || !mask || *mask < 1 ||
        *mask > std::numeric_limits<std::uint32_t>::max())
        return false;
    const auto rate = number("rate_per_m_milli");
    const std::int64_t from_rate = rate && *rate > 0 ? 1'000'000'000 / *rate : 0;
    if (const auto tolerance = settings_.find("tolerance"); tolerance != settings_.end())
        found_.tolerance = tolerance->second;
    found_.order = {
        *mode,       number("spacing_um").value_or(from_rate), number("count").value_or(1),
        *speed_um_s, static_cast<std::uint32_t>(*mask),        *drops};
    return true;
}

Result<Recovered> LogWalk::finish() {
    if (line_number_ == 0)
        return refusal("holds no whole line", "nothing was recorded; start a new run");
    if (closed_)
        return refusal("this run is finished and its log closed",
                       "audit it with: dropledger audit " + shell_word(path_));
    if (!read_order())
        return refusal("the settings of the run are not complete",
                       "nothing was recorded; start a new run");
    return std::move(found_);
}

// Lines of a file; of an overlong one its beginning, and how long it was.
class Lines {
public:
    explicit Lines(const std::string& path) : file_(path, std::ios::binary) {}

    [[nodiscard]] bool is_open() const { return file_.is_open(); }
    [[nodiscard]] std::uint64_t bytes() const { return bytes_; } // read so far
    // False at the end, where `line` is what stands there without LF.
    [[nodiscard]] bool next(std::string& line) {
        line.clear();
        for (;;) {
            if (at_ == read_ && !fill())
                return false;
            const char* const begin = chunk_.data() + at_;
            const std::string_view rest{begin, read_ - at_};
            const std::size_t end = rest.find('\n');
            line += rest.substr(0, end);
            at_ = end == std::string_view::npos ? read_ : at_ + end + 1;
            if (end != std::string_view::npos || line.size() >= most_kept)
                return true;
        }
    }

private:
    static constexpr std::size_t most_kept = 1U
                                             << 16U; // of a hole: the rest comes as the next line

    [[nodiscard]] bool fill() {
        file_.read(chunk_.data(), static_cast<std::streamsize>(chunk_.size()));
        at_ = 0;
        read_ = static_cast<std::size_t>(file_.gcount());
        bytes_ += read_;
        return read_ > 0;
    }

    std::ifstream file_;
    std::array<char, 1U << 16U> chunk_{};
    std::size_t at_ = 0;
    std::size_t read_ = 0;
    std::uint64_t bytes_ = 0;
};

} // namespace

bool Recovered::may_go_on() const {
    return leaves_drops(end_reason, starts) && !is_wound_up && !reset && !unasked &&
           rest_of(order, tally).has_value();
}

Result<Recovered> recover(const std::string& path, const LiveTally::Watcher& settled) {
    std::error_code none;
    if (std::filesystem::exists(path, none) && !std::filesystem::is_regular_file(path, none))
        return input_error(path, "it is not a file", "check the name of the log");
    Lines lines(path);
    if (!lines.is_open())
        return input_error(path, "the log cannot be read", "check the name of the log");
    LogWalk walk(path, settled);
    std::string line;
    while (lines.next(line))
        if (const Status taken = walk.take(line); !taken)
            return taken.error();
    walk.end_at(lines.bytes());
    return walk.finish();
}

} // namespace dropledger::recorder
