import { mount } from "svelte";
import App from "./app/App.svelte";
import { keepTame } from "./ui/letters.ts";

const target = document.getElementById("app");
if (!target) throw new Error("index.html has no element with the id app");
keepTame(document.body);
mount(App, { target });
