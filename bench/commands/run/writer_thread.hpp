// Writes to standard error on a thread of its own, so that whoever has something to say never
// waits.
//
// Assumes: of pictures only the latest counts; of texts the first 1,000 that wait are kept, the
// rest is counted.
// Undefined when: never; a standard error that is gone swallows what is written.
#pragma once

#include <memory>
#include <string>
#include <vector>

namespace dropledger::cli {

class WriterThread {
public:
    WriterThread();
    WriterThread(const WriterThread&) = delete;
    WriterThread& operator=(const WriterThread&) = delete;
    ~WriterThread(); // a thread that is held up is left behind

    void text(const std::string& text);                // a line with the time, above the picture
    void picture(std::vector<std::string> lines);      // in the place of the one before
    void last_picture(std::vector<std::string> lines); // stays
    void wait_at_most_2_s();                           // until all is written

private:
    struct Desk;
    std::shared_ptr<Desk> desk_; // the thread's own, too
};

} // namespace dropledger::cli
