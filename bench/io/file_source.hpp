// Bytes out of a file, a pipe or standard input, as often as they are asked for.
//
// Assumes: the file does not shrink while it is read; what is appended meanwhile is read too.
#pragma once

#include "analysis/base/readers/byte_source.hpp"
#include "bench/io/descriptor.hpp"

#include <cstdint>
#include <memory>
#include <span>
#include <string>

namespace dropledger::files {

// Reads an open, seekable file from byte `at` on; several sources may share one descriptor.
class FileSource final : public ByteSource {
public:
    FileSource(std::shared_ptr<const Descriptor> file, std::int64_t at, std::string name);
    [[nodiscard]] Result<std::size_t> read(std::span<char> room) override;

private:
    std::shared_ptr<const Descriptor> file_;
    std::int64_t at_;
    std::string name_;
};

constexpr std::uint64_t most_spooled_bytes = std::uint64_t{16} << 30U;

// `path`, or standard input where it is "-". What cannot be read twice (a pipe) is kept aside as it
// is read (spool.hpp), at most `most_spooled_bytes`.
[[nodiscard]] OpenBytes open_file(const std::string& path);

constexpr std::size_t most_table_bytes = std::size_t{64} << 20U; // of tables that are read whole

// A small file's bytes, `path` as above; refused where there are more than `most`.
[[nodiscard]] Result<std::string> whole_file(const std::string& path, std::size_t most);

// open_file for a descriptor that the caller keeps open; `name` is for messages.
[[nodiscard]] OpenBytes open_descriptor(int number, std::string name,
                                        std::uint64_t most_spooled = most_spooled_bytes);

// The same bytes; an input error, with `name` as its place, once there are more than `most`.
[[nodiscard]] OpenBytes limited(OpenBytes open, std::string name, std::uint64_t most);

} // namespace dropledger::files
