// One program at a time changes a file: held from reading it to renaming the new one over it.
//
// The lock lies on the file itself, so nothing is left beside it. A file that was replaced while we
// waited is locked anew.
// Assumes: everybody who changes it takes this lock; it does not hinder others. Let go with this
// object.
#pragma once

#include "analysis/base/result.hpp"
#include "bench/io/descriptor.hpp"

#include <string>

namespace dropledger::files {

class FileLock {
public:
    // Waits for the others, two minutes at most.
    [[nodiscard]] static Result<FileLock> hold(const std::string& path);

private:
    explicit FileLock(Descriptor file) : file_(std::move(file)) {}

    Descriptor file_;
};

} // namespace dropledger::files
