// What a run does besides talking to a person: the same for a terminal and for a page.
//
// Assumes: options.port is set. In this order: book_of, job_of, look_at_bench, a person's leave into
// the plan, count_run, work, keep_books.
#pragma once

#include "bench/book/book.hpp"
#include "bench/commands/run/job/run_job.hpp"
#include "bench/commands/run/job/run_output.hpp"
#include "bench/commands/run/settings/run_options.hpp"
#include "bench/recorder/recorder.hpp"

#include <memory>
#include <string>
#include <vector>

namespace dropledger::cli {

// Opened before motors turn, so that what is wrong with it is told then. Null where none was named.
[[nodiscard]] Result<std::unique_ptr<book::Book>> book_of(const RunOptions& options);

// Before a person is asked: whether there is a bench, and whether it has the channels.
[[nodiscard]] Status look_at_bench(const Job& job, const RunOptions& options,
                                   recorder::Clock& clock);

// The next number of those that were begun with the key goes into the log.
[[nodiscard]] Status count_run(const RunOptions& options, Job& job);

// Records, or goes on; obeys the job's stopping rule. Its plan is used up.
[[nodiscard]] Result<RunOutcome> work(Job& job, const RunOptions& options, recorder::Hooks hooks,
                                      recorder::Clock& clock);

// Of a run that has ended: the key's counter, and the book. What is to be told of it; the log is safe
// whatever that is.
[[nodiscard]] std::vector<std::string> keep_books(const RunOptions& options, book::Book* book,
                                                  const Job& job);

} // namespace dropledger::cli
