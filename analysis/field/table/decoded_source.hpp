// A table's bytes as UTF-8, whatever they came in: UTF-16 either way round and Latin-1 are turned
// into it.
//
// UTF-16 is told by its mark or by the zero bytes of plain letters, Latin-1 by the first 64 KiB
// being no UTF-8. Undefined when: nothing; half a character at the end is left out.
#pragma once

#include "analysis/base/readers/byte_source.hpp"

#include <string>
#include <string_view>

namespace dropledger::field {

enum class Encoding { utf8, utf16_little, utf16_big, latin1 };
[[nodiscard]] std::string_view words_of(Encoding encoding);

class DecodedSource final : public ByteSource {
public:
    explicit DecodedSource(ByteSource& source) : source_(&source) {}

    [[nodiscard]] Result<std::size_t> read(std::span<char> room) override;

    // The first bytes, decoded, without consuming them.
    [[nodiscard]] Result<std::string_view> head();
    // Leaves so many of the head's bytes out.
    void skip(std::size_t bytes) { at_ += bytes; }
    [[nodiscard]] Encoding encoding() const { return encoding_; }

private:
    [[nodiscard]] Result<bool> fill();
    [[nodiscard]] Status begin();
    void decode();

    ByteSource* source_;
    Encoding encoding_ = Encoding::utf8;
    bool begun_ = false;
    bool ended_ = false;
    std::string raw_;     // not yet decoded
    std::string decoded_; // not yet read from at_ on
    std::size_t at_ = 0;
};

} // namespace dropledger::field
