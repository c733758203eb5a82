#include "analysis/field/input/line.hpp"

#include <algorithm>
#include <cmath>

namespace dropledger::field {

namespace {

constexpr double place_steps = 1e9;
constexpr double offset_steps = 100.0;
constexpr std::uint8_t is_alert = 1U;
constexpr std::uint8_t has_offset_bit = 2U;
constexpr std::uint8_t same_target = 4U;
constexpr std::uint8_t next_drop = 8U;
constexpr std::uint8_t no_place = 16U;
constexpr unsigned seen_shift = 5U;
constexpr std::uint32_t much_seen = 7U; // the number itself follows

std::uint64_t folded(std::int64_t value) {
    return (static_cast<std::uint64_t>(value) << 1U) ^ static_cast<std::uint64_t>(value >> 63);
}

std::int64_t unfolded(std::uint64_t value) {
    return static_cast<std::int64_t>(value >> 1U) ^ -static_cast<std::int64_t>(value & 1U);
}

std::int64_t whole(double value, double steps) {
    return std::llround(value * steps);
}

std::uint8_t flags_of(const FieldDrop& drop, const FieldDrop& before) {
    unsigned flags = std::min(drop.seen, much_seen) << seen_shift;
    flags |= drop.alert ? is_alert : 0U;
    flags |= drop.has_offset ? has_offset_bit : 0U;
    flags |= drop.target == before.target ? same_target : 0U;
    flags |= drop.drop == before.drop + 1 ? next_drop : 0U;
    flags |= drop.has_place ? 0U : no_place;
    return static_cast<std::uint8_t>(flags);
}

} // namespace

void Line::put_byte(std::uint8_t byte) {
    constexpr std::size_t smallest = 96;
    constexpr std::size_t largest = 8192;
    if (chunks_.empty() || chunks_.back().size() == chunks_.back().capacity()) {
        const std::size_t size =
            chunks_.empty() ? smallest : std::min(largest, 2 * chunks_.back().capacity());
        chunks_.emplace_back().reserve(size);
    }
    chunks_.back().push_back(static_cast<char>(byte));
}

void Line::put(std::int64_t value) {
    std::uint64_t rest = folded(value);
    for (; rest >= 128U; rest >>= 7U)
        put_byte(static_cast<std::uint8_t>((rest & 127U) | 128U));
    put_byte(static_cast<std::uint8_t>(rest));
}

void Line::push_back(const FieldDrop& drop) {
    const Steps now{whole(drop.time_s, 1000.0), whole(drop.at.x, place_steps),
                    whole(drop.at.y, place_steps), static_cast<std::int64_t>(drop.line)};
    const Steps step{now.time_ms - at_.time_ms, now.x - at_.x, now.y - at_.y, now.line - at_.line};
    const std::uint8_t flags = flags_of(drop, last_);
    put_byte(flags);
    if ((flags & next_drop) == 0U)
        put(drop.drop - last_.drop);
    if ((flags & same_target) == 0U)
        put(static_cast<std::int64_t>(drop.target));
    if (drop.seen >= much_seen)
        put(static_cast<std::int64_t>(drop.seen));
    if (drop.has_offset)
        put(whole(static_cast<double>(drop.offset_mm), offset_steps));
    put(step.time_ms - step_.time_ms);
    put(step.x - step_.x);
    put(step.y - step_.y);
    put(step.line - step_.line);
    at_ = now;
    step_ = step;
    last_ = drop;
    ++size_;
}

Line::Line(const std::vector<FieldDrop>& drops) {
    for (const FieldDrop& drop : drops)
        push_back(drop);
}

// Reads what `put` wrote, from the first byte on.
class LineReader {
public:
    explicit LineReader(const Line& line) : chunks_(&line.chunks_) {}

    [[nodiscard]] FieldDrop next() {
        const std::uint8_t flags = byte();
        last_.drop += (flags & next_drop) != 0U ? 1 : number();
        if ((flags & same_target) == 0U)
            last_.target = static_cast<std::uint32_t>(number());
        last_.seen = static_cast<std::uint32_t>(flags) >> seen_shift;
        if (last_.seen == much_seen)
            last_.seen = static_cast<std::uint32_t>(number());
        last_.alert = (flags & is_alert) != 0U;
        last_.has_offset = (flags & has_offset_bit) != 0U;
        last_.has_place = (flags & no_place) == 0U;
        last_.offset_mm = last_.has_offset
                              ? static_cast<float>(static_cast<double>(number()) / offset_steps)
                              : 0.0F;
        last_.time_s = static_cast<double>(moved(step_.time_ms, at_.time_ms)) / 1000.0;
        last_.at.x = static_cast<double>(moved(step_.x, at_.x)) / place_steps;
        last_.at.y = static_cast<double>(moved(step_.y, at_.y)) / place_steps;
        last_.line = static_cast<std::uint32_t>(moved(step_.line, at_.line));
        return last_;
    }

private:
    [[nodiscard]] std::uint8_t byte() {
        if (at_byte_ == (*chunks_)[chunk_].size()) {
            ++chunk_;
            at_byte_ = 0;
        }
        return static_cast<std::uint8_t>((*chunks_)[chunk_][at_byte_++]);
    }

    [[nodiscard]] std::int64_t number() {
        std::uint64_t value = 0;
        for (unsigned shift = 0;; shift += 7U) {
            const std::uint64_t part = byte();
            value |= (part & 127U) << shift;
            if (part < 128U)
                return unfolded(value);
        }
    }

    [[nodiscard]] std::int64_t moved(std::int64_t& step, std::int64_t& at) {
        step += number();
        at += step;
        return at;
    }

    const std::vector<std::string>* chunks_;
    std::size_t chunk_ = 0;
    std::size_t at_byte_ = 0;
    FieldDrop last_;
    Line::Steps at_;
    Line::Steps step_;
};

std::vector<FieldDrop> Line::drops() const {
    std::vector<FieldDrop> all;
    all.reserve(size_);
    LineReader reader(*this);
    for (std::size_t i = 0; i < size_; ++i)
        all.push_back(reader.next());
    return all;
}

} // namespace dropledger::field
