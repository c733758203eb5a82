#include "analysis/field/table/decoded_source.hpp"

#include "analysis/base/utf8.hpp"

#include <algorithm>
#include <cstdint>
#include <cstring>

namespace dropledger::field {

namespace {

constexpr std::size_t piece = 65536;

void put_code(std::uint32_t code, std::string& out) {
    const auto byte = [&](std::uint32_t value) {
        out.push_back(static_cast<char>(static_cast<unsigned char>(value)));
    };
    if (code < 0x80U) {
        byte(code);
    } else if (code < 0x800U) {
        byte(0xC0U | (code >> 6U));
        byte(0x80U | (code & 0x3FU));
    } else if (code < 0x10000U) {
        byte(0xE0U | (code >> 12U));
        byte(0x80U | ((code >> 6U) & 0x3FU));
        byte(0x80U | (code & 0x3FU));
    } else {
        byte(0xF0U | (code >> 18U));
        byte(0x80U | ((code >> 12U) & 0x3FU));
        byte(0x80U | ((code >> 6U) & 0x3FU));
        byte(0x80U | (code & 0x3FU));
    }
}

std::uint32_t unit_at(std::string_view bytes, std::size_t at, bool little) {
    const auto low = static_cast<unsigned char>(bytes[at + (little ? 0U : 1U)]);
    const auto high = static_cast<unsigned char>(bytes[at + (little ? 1U : 0U)]);
    return static_cast<std::uint32_t>(high) << 8U | low;
}

// How many bytes were taken; half a character stays.
std::size_t decode_utf16(std::string_view bytes, bool little, std::string& out) {
    std::size_t at = 0;
    while (at + 2 <= bytes.size()) {
        const std::uint32_t unit = unit_at(bytes, at, little);
        if (unit < 0xD800U || unit > 0xDBFFU) {
            put_code(unit >= 0xDC00U && unit <= 0xDFFFU ? 0xFFFDU : unit, out);
            at += 2;
            continue;
        }
        if (at + 4 > bytes.size())
            return at;
        const std::uint32_t low = unit_at(bytes, at + 2, little);
        const bool pair = low >= 0xDC00U && low <= 0xDFFFU;
        put_code(pair ? 0x10000U + ((unit - 0xD800U) << 10U) + (low - 0xDC00U) : 0xFFFDU, out);
        at += pair ? 4 : 2;
    }
    return at;
}

// Zero bytes at every second place are the high halves of plain letters.
bool has_zeros(std::string_view bytes, std::size_t from) {
    std::size_t zeros = 0;
    std::size_t all = 0;
    for (std::size_t i = from; i < std::min<std::size_t>(bytes.size(), 400); i += 2, ++all)
        zeros += bytes[i] == '\0' ? 1U : 0U;
    return all >= 8 && 10 * zeros >= 9 * all;
}

// The last character may be cut off at the end of what is looked at, where that is not all.
bool looks_utf8(std::string_view bytes, bool is_all) {
    const std::size_t most_cut = is_all ? 0 : 3;
    for (std::size_t cut = 0; cut <= most_cut && cut <= bytes.size(); ++cut)
        if (is_utf8(bytes.substr(0, bytes.size() - cut)))
            return true;
    return false;
}

Encoding encoding_of(std::string_view head, bool is_all) {
    if (head.starts_with("\xFF\xFE") || has_zeros(head, 1))
        return Encoding::utf16_little;
    if (head.starts_with("\xFE\xFF") || has_zeros(head, 0))
        return Encoding::utf16_big;
    return looks_utf8(head, is_all) ? Encoding::utf8 : Encoding::latin1;
}

} // namespace

std::string_view words_of(Encoding encoding) {
    switch (encoding) {
    case Encoding::utf8:
        return "UTF-8";
    case Encoding::utf16_little:
    case Encoding::utf16_big:
        return "UTF-16";
    case Encoding::latin1:
        return "Latin-1";
    }
    throw BrokenInvariant("an encoding without words");
}

Result<bool> DecodedSource::fill() {
    const std::size_t before = raw_.size();
    raw_.resize(before + piece);
    const auto got = source_->read({raw_.data() + before, piece});
    raw_.resize(before + (got ? *got : 0));
    if (!got)
        return got.error();
    ended_ = *got == 0;
    return !ended_;
}

void DecodedSource::decode() {
    decoded_.erase(0, at_);
    at_ = 0;
    if (encoding_ == Encoding::utf8) {
        decoded_.append(raw_);
        raw_.clear();
        return;
    }
    if (encoding_ == Encoding::latin1) {
        for (const char c : raw_)
            put_code(static_cast<unsigned char>(c), decoded_);
        raw_.clear();
        return;
    }
    raw_.erase(0, decode_utf16(raw_, encoding_ == Encoding::utf16_little, decoded_));
}

Status DecodedSource::begin() {
    constexpr std::string_view mark = "\xEF\xBB\xBF";
    begun_ = true;
    while (raw_.size() < piece && !ended_) {
        const auto more = fill();
        if (!more)
            return more.error();
    }
    encoding_ = encoding_of(raw_, ended_);
    decode();
    if (decoded_.starts_with(mark))
        at_ = mark.size();
    return Done{};
}

Result<std::string_view> DecodedSource::head() {
    if (!begun_)
        if (const Status status = begin(); !status)
            return status.error();
    return std::string_view(decoded_).substr(at_);
}

Result<std::size_t> DecodedSource::read(std::span<char> room) {
    if (!begun_)
        if (const Status status = begin(); !status)
            return status.error();
    while (at_ == decoded_.size() && !ended_) {
        const auto more = fill();
        if (!more)
            return more.error();
        decode();
    }
    const std::size_t size = std::min(room.size(), decoded_.size() - at_);
    std::memcpy(room.data(), decoded_.data() + at_, size);
    at_ += size;
    return size;
}

} // namespace dropledger::field
