#include "scenarios/page/live_engine.hpp"

#include <cmath>

#include <fmt/format.h>

#include "scenarios/text/mistakes.hpp"

namespace stoverturn {
namespace {

Json mistake(const std::string& source, int line, int column, const std::string& message) {
  return {{"source", source}, {"line", line}, {"column", column}, {"message", message}};
}

Json refused(Json mistakes) { return {{"ok", false}, {"mistakes", std::move(mistakes)}}; }

Json asked(const Json& request) {
  if (!request.is_object()) throw mistake_of_request("wanted an object");
  const std::string what = wanted_text(request, "do");
  if (what == "run") return live_run(request);
  if (what == "more") return live_more();
  if (what == "lists") return live_lists();
  if (what == "read") return live_read(request);
  if (what == "weather") return live_weather(request);
  if (what == "fit") return live_fit(request);
  throw mistake_of_request(fmt::format("do: found '{}', which is not known", what));
}

Json answered(const char* request) {
  try {
    Json answer = asked(Json::parse(request));
    if (!answer.contains("ok")) answer["ok"] = true;
    return answer;
  } catch (const InputError& error) {
    return refusal(error);
  } catch (const std::exception& error) {
    return refused(Json::array({mistake("", 0, 0, error.what())}));
  }
}

}  // namespace

Json refusal(const InputError& error) {
  Json mistakes = Json::array();
  for (const Mistake& m : error.mistakes)
    mistakes.push_back(mistake(m.at.source, m.at.line, m.at.column, m.message));
  return refused(std::move(mistakes));
}

InputError mistake_of_request(const std::string& message) {
  return InputError(std::vector<Mistake>{{{"request", 0, 0}, message}});
}

std::string wanted_text(const Json& request, const char* name) {
  const auto found = request.find(name);
  if (found == request.end() || !found->is_string())
    throw mistake_of_request(fmt::format("{}: wanted a text", name));
  return found->get<std::string>();
}

std::string optional_text(const Json& request, const char* name, const char* otherwise) {
  return request.contains(name) ? wanted_text(request, name) : otherwise;
}

std::optional<std::string> file_of(const Json& request, const std::string& name) {
  const auto files = request.find("files");
  if (files == request.end() || !files->is_object()) return std::nullopt;
  const auto file = files->find(name);
  if (file == files->end() || !file->is_string()) return std::nullopt;
  return file->get<std::string>();
}

Json number_or_null(double value) { return std::isfinite(value) ? Json(value) : Json(nullptr); }

}  // namespace stoverturn

const char* live_call(const char* request) {
  static std::string answer;
  answer = stoverturn::answered(request).dump(-1, ' ', false, stoverturn::Json::error_handler_t::replace);
  return answer.c_str();
}
