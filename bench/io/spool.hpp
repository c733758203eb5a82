// Bytes that come only once (a pipe), kept aside as they are read, so that they can be read again.
//
// No more is taken from the pipe than somebody reads; what was taken lies in a temporary file that
// has no name and is gone with the spool. Several sources may share one spool, from any thread.
#pragma once

#include "analysis/base/readers/byte_source.hpp"
#include "bench/io/descriptor.hpp"

#include <cstdint>
#include <memory>
#include <mutex>
#include <string>

namespace dropledger::files {

class Spool {
public:
    // `from`: read to its end; beyond `most` bytes it is refused.
    [[nodiscard]] static Result<std::shared_ptr<Spool>> of(std::shared_ptr<const Descriptor> from,
                                                           std::string name, std::uint64_t most);

    // From byte `at` on; 0 at the end.
    [[nodiscard]] Result<std::size_t> read(std::span<char> room, std::uint64_t at);

private:
    Spool(std::shared_ptr<const Descriptor> from, Descriptor kept, std::string name,
          std::uint64_t most)
        : from_(std::move(from)), kept_(std::move(kept)), name_(std::move(name)), most_(most) {}

    [[nodiscard]] Result<std::size_t> again(std::span<char> room, std::uint64_t at) const;
    [[nodiscard]] Result<std::size_t> more(std::span<char> room);

    std::mutex mutex_;
    std::shared_ptr<const Descriptor> from_;
    Descriptor kept_;
    std::string name_;
    std::uint64_t most_;
    std::uint64_t size_ = 0; // of what is kept
};

class SpoolSource final : public ByteSource {
public:
    explicit SpoolSource(std::shared_ptr<Spool> spool) : spool_(std::move(spool)) {}
    [[nodiscard]] Result<std::size_t> read(std::span<char> room) override;

private:
    std::shared_ptr<Spool> spool_;
    std::uint64_t at_ = 0;
};

} // namespace dropledger::files
