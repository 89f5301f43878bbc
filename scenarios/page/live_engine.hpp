#pragma once
#include <optional>
#include <string>

#include <nlohmann/json.hpp>

#include "scenarios/text/mistakes.hpp"

/// The program behind the live page: requests and answers are JSON texts. docs/live-page-engine.part.md lists
/// them. Nothing is thrown to the caller; a mistake is an answer.
namespace stoverturn {

using Json = nlohmann::ordered_json;

/// {"do": "run", ...}: simulates a scenario. {"do": "more"}: the next draws of one that is under way.
Json live_run(const Json& request);
Json live_more();

/// {"do": "lists"}: what controls offer, from the tables of the program.
Json live_lists();

/// {"do": "read", ...}: what controls show of a scenario, and which of its keys they cannot.
Json live_read(const Json& request);

/// {"do": "weather", ...}: what a file of daily weather holds.
Json live_weather(const Json& request);
/// {"do": "fit", ...}: what a fitted parameter set holds.
Json live_fit(const Json& request);

/// {"ok": false, "mistakes": [...]}
Json refusal(const InputError& error);

/// A request that cannot be answered.
InputError mistake_of_request(const std::string& message);

/// Members of a request; throw InputError naming what is wanted.
std::string wanted_text(const Json& request, const char* name);
std::string optional_text(const Json& request, const char* name, const char* otherwise = "");

/// The text of request.files; nothing for a file that is not there.
std::optional<std::string> file_of(const Json& request, const std::string& name);

/// A number, null where it is none.
Json number_or_null(double value);

}  // namespace stoverturn

/// One request, one answer; the text is good until the next call.
extern "C" const char* live_call(const char* request);
