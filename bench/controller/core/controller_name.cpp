#include "bench/controller/core/controller_name.hpp"

namespace dropledger {
namespace controller {

namespace {

bool is_of_serial(uint8_t byte) {
    return (byte >= '0' && byte <= '9') || (byte >= 'A' && byte <= 'Z') ||
           (byte >= 'a' && byte <= 'z') || byte == '-' || byte == '.';
}

struct Text {
    char* at;
    char* last; // for the 0

    void add(char byte) {
        if (at < last)
            *at++ = byte;
    }
    void add(const char* words) {
        for (; *words != '\0'; ++words)
            add(*words);
    }
};

} // namespace

void write_name(const char* program, const uint8_t (&serial)[serial_room],
                char (&text)[name_room]) {
    Text name{text, text + name_room - 1};
    name.add(program);
    if (is_of_serial(serial[0]))
        name.add("%20#");
    for (uint8_t i = 0; i < serial_room && is_of_serial(serial[i]); ++i)
        name.add(static_cast<char>(serial[i]));
    *name.at = '\0';
}

} // namespace controller
} // namespace dropledger
