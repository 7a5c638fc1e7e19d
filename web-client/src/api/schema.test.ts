import openapiTS, { astToString, COMMENT_HEADER } from "openapi-typescript";
import { expect, test } from "vitest";
import document from "../../../api-spec/openapi.json?raw";
import committed from "./schema.ts?raw";

test("the generated types are those of the OpenAPI document; npm run types makes them anew", async () => {
  const options = { rootTypes: true, rootTypesNoSchemaPrefix: true, alphabetize: true, silent: true };
  expect(COMMENT_HEADER + astToString(await openapiTS(document, options))).toBe(committed);
}, 30_000);
