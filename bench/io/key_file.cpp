#include "bench/io/key_file.hpp"

#include "bench/io/descriptor.hpp"
#include "bench/io/write_fully.hpp"

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/stat.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <optional>
#include <string_view>

namespace dropledger::files {

namespace {

constexpr std::string_view head =
    "dropledger bench key, Ed25519, private: who has it can sign in your name\n";
constexpr std::size_t hex_digits = 64;
constexpr mode_t others = S_IRWXG | S_IRWXO;

Error no_key(const std::string& path) {
    return input_error(path, "it is not a key file of this program",
                       "make one: dropledger batch key FILE");
}

Status check_private(const std::string& path, int number) {
    struct stat about {};
    if (::fstat(number, &about) != 0)
        return system_error(path, "look at", errno);
    if (!S_ISREG(about.st_mode))
        return no_key(path);
    if ((about.st_mode & others) != 0)
        return device_error(
            path,
            fmt::format("the key can be read or changed by others (mode {:04o})",
                        about.st_mode & 07777U),
            fmt::format("chmod 600 {}; if others may have read it, make a new key", path));
    return Done{};
}

} // namespace

Result<droplog::PublicKey> make_key_file(const std::string& path) {
    droplog::PrivateKey key{};
    if (::getentropy(key.data(), key.size()) != 0)
        return system_error(path, "get random bytes for", errno);
    const Descriptor file{
        ::open(path.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, S_IRUSR | S_IWUSR)};
    if (!file.is_open() && errno == EEXIST)
        return usage_error(path, "there is a file of this name already; a key is never replaced",
                           "name another file");
    if (!file.is_open())
        return system_error(path, "create", errno);
    int problem = write_fully(file.number(), std::string{head} + droplog::to_hex(key) + "\n");
    if (problem == 0 && ::fsync(file.number()) != 0)
        problem = errno;
    if (problem != 0) {
        ::unlink(path.c_str());
        return system_error(path, "write", problem);
    }
    return droplog::public_key_of(key);
}

Result<droplog::PrivateKey> read_key_file(const std::string& path) {
    // Without O_NONBLOCK a named pipe would be waited for.
    const Descriptor file{::open(path.c_str(), O_RDONLY | O_CLOEXEC | O_NONBLOCK)};
    if (!file.is_open())
        return system_error(path, "open", errno);
    if (const Status safe = check_private(path, file.number()); !safe)
        return safe.error();
    std::array<char, head.size() + hex_digits + 2> room{};
    const ssize_t size = ::read(file.number(), room.data(), room.size());
    if (size < 0)
        return system_error(path, "read", errno);
    std::string_view text{room.data(), static_cast<std::size_t>(size)};
    if (text.size() != head.size() + hex_digits + 1 || text.substr(0, head.size()) != head ||
        text.back() != '\n')
        return no_key(path);
    const auto key = droplog::from_hex<32>(text.substr(head.size(), hex_digits));
    if (!key)
        return no_key(path);
    return *key;
}

} // namespace dropledger::files
