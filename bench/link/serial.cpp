#include "bench/link/serial.hpp"

#include "analysis/base/text.hpp"
#include "bench/link/handle.hpp"

#include <fmt/format.h>
#include <libserialport.h>

#include <algorithm>
#include <cerrno>

#include <sys/ioctl.h>

namespace dropledger::link {

namespace {

constexpr int slowest_baud = 50;
constexpr int fastest_baud = 4'000'000;

struct FreePort {
    void operator()(sp_port* port) const { sp_free_port(port); }
};
using PortPointer = std::unique_ptr<sp_port, FreePort>;

// Must be asked at once: the library keeps the message of its latest failure only.
std::string library_message() {
    char* const message = sp_last_error_message();
    std::string text = message == nullptr ? "unknown" : message;
    sp_free_error_message(message);
    return text;
}

Error trouble(const std::string& path, std::string_view doing, sp_return code) {
    const bool bad_argument = code == SP_ERR_ARG || code == SP_ERR_SUPP;
    const std::string reason = bad_argument ? "not possible with this port" : library_message();
    return device_error(path, fmt::format("{} ({})", doing, reason),
                        "see the ports with `dropledger run --list-ports`");
}

std::optional<std::size_t> moved(sp_return bytes) {
    if (bytes >= 0)
        return static_cast<std::size_t>(bytes);
    // A full output buffer is reported as a failure, not as 0 bytes.
    if (bytes == SP_ERR_FAIL && (errno == EAGAIN || errno == EINTR))
        return 0;
    return std::nullopt;
}

class Serial final : public Transport {
public:
    Serial(PortPointer port, int handle, std::string path)
        : port_(std::move(port)), handle_(handle), path_(std::move(path)) {}
    ~Serial() override { Serial::close(); }

    Read read(std::chrono::milliseconds timeout) override {
        return read_handle(handle_, timeout, [this](char* into, std::size_t room) {
            return moved(sp_nonblocking_read(port_.get(), into, room));
        });
    }

    Status write(std::string_view bytes) override {
        const auto put = [this](std::string_view rest) {
            return moved(sp_nonblocking_write(port_.get(), rest.data(), rest.size()));
        };
        Status written = write_handle(handle_, bytes, put, path_);
        stuck_ = !written;
        return written;
    }

    // The system would wait up to 30 s for bytes that the other end does not take.
    void close() override {
        if (handle_ >= 0 && stuck_)
            sp_flush(port_.get(), SP_BUF_OUTPUT);
        if (handle_ >= 0)
            sp_close(port_.get());
        handle_ = -1;
    }

private:
    PortPointer port_;
    int handle_;
    std::string path_;
    bool stuck_ = false; // it took not all of the last write
};

sp_return configure(sp_port* port, int baud) {
    const auto all_ok = [](std::initializer_list<sp_return> results) {
        const auto bad =
            std::find_if(results.begin(), results.end(), [](sp_return r) { return r != SP_OK; });
        return bad == results.end() ? SP_OK : *bad;
    };
    return all_ok({sp_set_baudrate(port, baud), sp_set_bits(port, 8),
                   sp_set_parity(port, SP_PARITY_NONE), sp_set_stopbits(port, 1),
                   sp_set_flowcontrol(port, SP_FLOWCONTROL_NONE)});
}

Status prepare(sp_port* port, int handle, const std::string& path, int baud) {
    if (const Status held = hold_alone(handle, path); !held)
        return held.error();
    ::ioctl(handle, TIOCEXCL); // keeps out programs that know nothing of our lock
    if (const sp_return code = configure(port, baud); code != SP_OK)
        return trouble(path, fmt::format("{} baud, 8N1 cannot be set", baud), code);
    sp_flush(port, SP_BUF_INPUT);
    return Done{};
}

std::string text_or_empty(const char* text) {
    return text == nullptr ? "" : text;
}

PortDescription describe(const sp_port* port) {
    return {text_or_empty(sp_get_port_name(port)), text_or_empty(sp_get_port_description(port)),
            text_or_empty(sp_get_port_usb_manufacturer(port)),
            text_or_empty(sp_get_port_usb_product(port)),
            text_or_empty(sp_get_port_usb_serial(port))};
}

} // namespace

Result<std::unique_ptr<Transport>> open_serial(const std::string& path, int baud) {
    if (baud < slowest_baud || baud > fastest_baud)
        return usage_error(
            "baud", fmt::format("{} is no baud rate ({} to {})", baud, slowest_baud, fastest_baud),
            "");
    sp_port* found = nullptr;
    if (const sp_return code = sp_get_port_by_name(path.c_str(), &found); code != SP_OK)
        return trouble(path, "not a serial port", code);
    PortPointer port{found};
    errno = 0;
    if (const sp_return code = sp_open(found, SP_MODE_READ_WRITE); code != SP_OK) {
        if (errno == EBUSY)
            return device_error(path, "the port is in use by another program",
                                "end the other run or terminal program and try again");
        return trouble(path, "the port cannot be opened", code);
    }
    int handle = -1;
    sp_get_port_handle(found, &handle);
    std::unique_ptr<Transport> serial = std::make_unique<Serial>(std::move(port), handle, path);
    if (const Status ready = prepare(found, handle, path, baud); !ready)
        return ready.error();
    return serial;
}

Result<std::vector<PortDescription>> list_ports() {
    sp_port** list = nullptr;
    if (const sp_return code = sp_list_ports(&list); code != SP_OK)
        return trouble("serial ports", "the list cannot be had", code);
    std::vector<PortDescription> ports;
    for (sp_port** port = list; *port != nullptr; ++port)
        ports.push_back(describe(*port));
    sp_free_port_list(list);
    return ports;
}

Likeness bench_likeness(const PortDescription& port) {
    const std::string names =
        lower(port.manufacturer + " " + port.product + " " + port.description);
    if (names.find("dropledger") != std::string::npos ||
        names.find("seed bench") != std::string::npos)
        return Likeness::bench;
    const bool usb =
        !port.product.empty() || !port.manufacturer.empty() || !port.serial_number.empty();
    return usb ? Likeness::adapter : Likeness::unlikely;
}

} // namespace dropledger::link
