/** Session sheets over HTTP: each travels as the text that it is. */
import { type Answer, request } from "../shared/api";

const asSheet = (text: string) => ({ type: "text/markdown", text });

export const getSheet = (path: string): Promise<Answer<string>> =>
  request("GET", path, undefined, (text) => text);
export const postSheet = <T>(path: string, sheet: string): Promise<Answer<T>> =>
  request("POST", path, asSheet(sheet));
export const putSheet = <T>(path: string, sheet: string): Promise<Answer<T>> =>
  request("PUT", path, asSheet(sheet));
