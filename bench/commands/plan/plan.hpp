// `dropledger plan`: how many drops or units are needed, and what a plan does.
#pragma once

namespace dropledger::cli {

class Program;
void add_plan(Program& program);

} // namespace dropledger::cli
