#include "bench/evidence/logs/log_story.hpp"

#include "analysis/base/text.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace dropledger::evidence {

using droplog::LineName;

namespace {

std::string text_in(std::string_view field) {
    return percent_decode(field).value_or(std::string{field});
}

} // namespace

void StoryReader::add(std::string_view bytes) {
    while (!bytes.empty()) {
        const std::size_t end = bytes.find('\n');
        if (end == std::string_view::npos) {
            // what is longer than a line may be is none
            if (waiting_.size() <= droplog::longest_line)
                waiting_ += bytes;
            return;
        }
        if (waiting_.empty())
            take(bytes.substr(0, end));
        else
            take(waiting_ += bytes.substr(0, end));
        waiting_.clear();
        bytes.remove_prefix(end + 1);
    }
}

void StoryReader::take(std::string_view line) {
    const droplog::Record record = droplog::decode(line);
    if (record.name == LineName::host_at)
        take_time(line);
    if (!record.from_controller())
        return;
    if (record.name == LineName::hello)
        take_hello(line, record);
    if (is_new(record) && record.name == LineName::pulse)
        take_pulse(record);
}

void StoryReader::take_hello(std::string_view line, const droplog::Record& record) {
    constexpr std::size_t boot = 4;
    constexpr std::size_t firmware = 6;
    const auto fields = droplog::fields_of(droplog::body_of_whole(line));
    if (fields.size() <= firmware)
        return;
    story_.firmware = text_in(fields[firmware]);
    const std::string name = text_in(fields[boot]);
    if (story_.boots.empty() || story_.boots.back().boot != name)
        story_.boots.push_back({name, record.seq, static_cast<std::int64_t>(record.seq) - 1});
}

void StoryReader::take_time(std::string_view line) {
    const auto fields = droplog::fields_of(droplog::body_of_whole(line));
    const auto unix_us = fields.size() > 2 ? parse_int(fields[2]) : std::nullopt;
    if (unix_us)
        story_.ended_s = std::max(story_.ended_s.value_or(0), *unix_us / 1'000'000);
}

// A line that was sent again is no line of its own.
bool StoryReader::is_new(const droplog::Record& record) {
    if (story_.boots.empty())
        story_.boots.push_back({"", record.seq, static_cast<std::int64_t>(record.seq) - 1});
    batch::BootSpan& boot = story_.boots.back();
    if (record.seq <= boot.last_seq)
        return false;
    boot.last_seq = record.seq;
    return true;
}

void StoryReader::take_pulse(const droplog::Record& record) {
    Stream& stream = streams_[record.channel];
    const std::uint32_t since = stream.pulses == 0 ? 0 : record.tick_us - stream.tick_us;
    stream.digest.add(
        fmt::format("{},{},{},{}\n", since, record.gate, record.width_us, record.depth_milli));
    stream.tick_us = record.tick_us;
    ++stream.pulses;
}

LogStory StoryReader::finish() {
    for (auto& [channel, stream] : streams_)
        if (stream.pulses >= least_pulses)
            story_.streams[channel] = droplog::to_hex(stream.digest.finish());
    return std::move(story_);
}

} // namespace dropledger::evidence
