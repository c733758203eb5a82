// A second copy of this program, started with other arguments: the demo runs bench and driver as
// two processes, as a workshop would.
//
// Assumes: Linux (/proc/self/exe). The child is ended and waited for at the latest with this
// object.
#pragma once

#include "analysis/base/result.hpp"

#include <cstdint>
#include <string>
#include <sys/types.h>
#include <vector>

namespace dropledger::cli {

class Child {
public:
    // `arguments` without the program's name. The child's standard output can be read line by line
    // where asked for; else it is ours. `errors_too`: so can its standard error, among it.
    [[nodiscard]] static Result<Child> start(const std::vector<std::string>& arguments,
                                             bool read_output, bool errors_too = false);
    Child(Child&& other) noexcept;
    Child& operator=(Child&&) = delete;
    ~Child();

    void ask_to_end() const; // on any thread
    // Since its start, from files of any kind; 0 where that cannot be known.
    [[nodiscard]] std::uint64_t bytes_read() const;
    // Everything that it still says, to its end.
    [[nodiscard]] std::string rest();
    // The next line of its output, empty at the end.
    [[nodiscard]] std::string line();
    // Its exit status; 128 + signal where one ended it.
    [[nodiscard]] int wait();

private:
    Child(pid_t process, int output) : process_(process), output_(output) {}

    pid_t process_ = -1;
    int output_ = -1;
};

} // namespace dropledger::cli
