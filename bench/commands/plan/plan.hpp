// `dropledger plan`: how many drops or units are needed, and what a plan does.
#pragma once

namespace dropledger::cli {

class Command;
void declare_plan(Command command);

} // namespace dropledger::cli
