// An open file descriptor that closes itself, and words for what the system said about a file.
#pragma once

#include "analysis/base/result.hpp"

#include <string>
#include <utility>

namespace dropledger::files {

class Descriptor {
public:
    explicit Descriptor(int number) : number_(number) {}
    ~Descriptor();
    Descriptor(Descriptor&& other) noexcept : number_(std::exchange(other.number_, -1)) {}
    Descriptor& operator=(Descriptor&& other) noexcept;

    [[nodiscard]] int number() const { return number_; }
    [[nodiscard]] bool is_open() const { return number_ >= 0; }

private:
    int number_;
};

// "cannot VERB it: No such file or directory" with a remedy. A file that is not there or is a
// folder is the input's fault; permissions, a full disk and failing hardware are the device's.
[[nodiscard]] Error system_error(const std::string& path, const std::string& verb, int number);

} // namespace dropledger::files
