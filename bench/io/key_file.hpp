// The private key of a bench: a small text file that only its owner can read.
//
// Assumes: one key per file, made once and never replaced. The key's bytes go into no message.
// Undefined when: the file can be read by others, or is no key file: refused, with what to do.
#pragma once

#include "analysis/base/result.hpp"
#include "analysis/droplog/seal.hpp"

#include <string>

namespace dropledger::files {

// A new key from the system's random source. The file has mode 0600 from its first instant; a file
// that is there is never replaced.
[[nodiscard]] Result<droplog::PublicKey> make_key_file(const std::string& path);

[[nodiscard]] Result<droplog::PrivateKey> read_key_file(const std::string& path);

} // namespace dropledger::files
