// Writes to standard error on a thread of its own, so that whoever has something to say never
// waits.
//
// Assumes: of pictures only the latest counts; of texts the first 1,000 that wait are kept, the
// rest is counted.
// Undefined when: never; a standard error that is gone swallows what is written.
#pragma once

#include "bench/commands/run/screen/screen_text.hpp"

#include <cstdint>
#include <memory>
#include <string>

namespace dropledger::cli {

// What is written on: a terminal takes a picture in the place of the one before, and colours.
enum class Paper : std::uint8_t { lines, terminal };

class WriterThread {
public:
    explicit WriterThread(Paper paper);
    WriterThread(const WriterThread&) = delete;
    WriterThread& operator=(const WriterThread&) = delete;
    ~WriterThread(); // a thread that is held up is left behind

    void text(const std::string& text);   // a line with the time, above the picture
    void bell();                          // with what is written next
    void picture(ScreenModel model);      // in the place of the one before
    void last_picture(ScreenModel model); // stays
    void wait_at_most_2_s();              // until all is written

private:
    struct Desk;
    std::shared_ptr<Desk> desk_; // the thread's own, too
};

} // namespace dropledger::cli
