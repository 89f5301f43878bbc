#include "scenarios/plan/treatment_materials.hpp"

#include "scenarios/plan/parameter_settings.hpp"
#include "tests/catch.hpp"

using namespace stoverturn;

namespace {

std::vector<std::string> names_of(const std::vector<ComponentName>& components) {
  std::vector<std::string> names;
  for (const ComponentName& c : components) names.push_back(c.name);
  return names;
}

using Names = std::vector<std::string>;

}  // namespace

TEST_CASE("materials: components of a later material are called after both", "[materials]") {
  Mistakes mistakes;
  const auto components = component_names({"corn", "soybean"}, nullptr, {}, mistakes);
  CHECK(names_of(components) == Names{"stalk", "leaf", "husk", "cob", "soybean stem"});
  CHECK(components[4].material == 1);
  CHECK(components[4].part == "stem");
  CHECK(names_of(component_names({"soybean", "corn"}, nullptr, {}, mistakes)) ==
        Names{"stem", "corn stalk", "corn leaf", "corn husk", "corn cob"});
  CHECK(names_of(component_names({"cereal rye", "hairy vetch"}, nullptr, {}, mistakes)) ==
        Names{"shoot", "hairy vetch shoot"});
  CHECK_FALSE(mistakes.any());
}

TEST_CASE("materials: a component of the file's own belongs to the material that its name begins with",
          "[materials]") {
  const Table file = read_toml(
      "[component.tassel]\nmass_share = 0.01\n[component.\"soybean pod\"]\nmass_share = 0.3\n"
      "[component.\"soybean leaf\"]\ncut_length = \"1 in\"\n",
      "farm.toml");
  const Table& components = *find(file, "component")->table();
  Mistakes mistakes;
  const auto own = component_names({"corn", "soybean"}, &components, {}, mistakes);
  CHECK(names_of(own) == Names{"stalk", "leaf", "husk", "cob", "soybean stem", "tassel", "soybean pod"});
  CHECK(own[5].material == 0);
  CHECK(own[6].material == 1);
  CHECK(own[6].part == "pod");
  CHECK_THROWS_WITH(mistakes.throw_if_any(),
                    "farm.toml:5:12: unknown component `soybean leaf`; did you mean 'soybean stem'? (a "
                    "component of your own needs mass_share)");

  Mistakes none;
  component_names({"corn", "soybean"}, &components, {"soybean leaf"}, none);  // another treatment has it
  CHECK_FALSE(none.any());
}

TEST_CASE("materials: each keeps its own contents, and addresses reach one, some or all", "[materials]") {
  Mistakes mistakes;
  const Names materials = {"corn", "soybean"};
  const auto components = component_names(materials, nullptr, {}, mistakes);
  const KnownNames known = {names_of(components), {"opened"}, materials};
  const auto at = [&](const std::string& address, double value) {
    return read_address(address, {}, Value{{}, value}, known, Layer::file, mistakes).value();
  };
  const auto resolved = [&](std::vector<ParameterSetting> settings) {
    return resolve_parameters(materials, components, "opened", std::move(settings));
  };
  const std::size_t stem = 4;

  const TreatmentParameters as_built = resolved({});
  CHECK(as_built.components[stem].nitrogen ==
        resolve_parameters({"soybean"}, {{"stem", 0, "stem"}}, "", {}).components[0].nitrogen);
  CHECK(as_built.field.harvest_index == as_built.of_material[0].harvest_index);
  CHECK(as_built.of_material[1].harvest_index == 0.46);  // the soybean row of the table
  CHECK_FALSE(is_known(as_built, "harvest_index", 0));
  CHECK(is_known(as_built, "harvest_index", 1));

  const TreatmentParameters p =
      resolved({at("k_hol@soybean", 0.02), at("k_hol", 0.03), at("k_hol@soybean stem@opened", 0.01),
                at("lignin@soybean", 0.2), at("harvest_index@soybean", 0.4), at("k_som", 0.001)});
  CHECK(p.components[0].k_hol == 0.03);
  CHECK(p.components[stem].k_hol == 0.01);  // the component goes before its material
  CHECK(p.components[stem].lignin == 0.2);
  CHECK(p.components[0].lignin == as_built.components[0].lignin);
  CHECK(p.of_material[1].harvest_index == 0.4);
  CHECK(p.of_material[0].harvest_index == as_built.field.harvest_index);
  CHECK(p.field.k_som == 0.001);

  CHECK_FALSE(
      read_address("k_som@soybean", {"farm.toml", 3, 1}, Value{{}, 0.001}, known, Layer::file, mistakes));
  CHECK_THROWS_WITH(mistakes.throw_if_any(),
                    "farm.toml:3:1: k_som@soybean: k_som is one value for the whole field; drop @soybean");
}
