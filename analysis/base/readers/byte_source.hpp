// Where bytes come from: a file, a pipe, a string in a test.
#pragma once

#include "analysis/base/result.hpp"

#include <cstddef>
#include <cstring>
#include <functional>
#include <memory>
#include <span>
#include <string>
#include <utility>

namespace dropledger {

class ByteSource {
public:
    virtual ~ByteSource() = default;
    // Bytes put into `room`, at least one; 0 at the end.
    [[nodiscard]] virtual Result<std::size_t> read(std::span<char> room) = 0;
};

// Everything to the end; refuses more than `most` bytes.
[[nodiscard]] Result<std::string> read_whole(ByteSource& source, std::size_t most);

// Opens the same bytes anew each time: an analysis may need a second pass.
using OpenBytes = std::function<Result<std::unique_ptr<ByteSource>>()>;

class StringSource final : public ByteSource {
public:
    explicit StringSource(std::string bytes) : bytes_(std::move(bytes)) {}

    [[nodiscard]] Result<std::size_t> read(std::span<char> room) override {
        const std::size_t size = std::min(room.size(), bytes_.size() - at_);
        std::memcpy(room.data(), bytes_.data() + at_, size);
        at_ += size;
        return size;
    }

private:
    std::string bytes_;
    std::size_t at_ = 0;
};

} // namespace dropledger
